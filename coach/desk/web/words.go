package web

import (
	"fmt"
	"html/template"
	"strings"
	"time"
	"unicode"

	"evenbell/coach"
)

// stamp is a time as people in the clinic read it; a dash where there is none.
func stamp(t time.Time, zone *time.Location, layout string) string {
	if t.IsZero() {
		return "–"
	}
	return t.In(zone).Format(layout)
}

// lately is a time with its day only where that is not today.
func lately(t, now time.Time, zone *time.Location) string {
	if coach.DayOf(t.In(zone)) == coach.DayOf(now.In(zone)) {
		return stamp(t, zone, "15:04")
	}
	return stamp(t, zone, "2 Jan 2006 15:04")
}

// ago says how long something has been, roughly: "12 s", "3 min", "2 h 5 min",
// "4 days".
func ago(d time.Duration) string {
	switch {
	case d < 0:
		return "0 s"
	case d < time.Minute:
		return fmt.Sprintf("%d s", int(d/time.Second))
	case d < time.Hour:
		return fmt.Sprintf("%d min", int(d/time.Minute))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h %d min", int(d/time.Hour), int(d%time.Hour/time.Minute))
	}
	return fmt.Sprintf("%d days", int(d/(24*time.Hour)))
}

// plural is a number with its noun: "1 patient", "3 patients".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// short is words with their fingerprints cut to their beginnings, enough to
// tell two apart by eye.
func short(s string) string {
	words := strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '+' })
	for i, w := range words {
		if len(w) >= 32 {
			words[i] = w[:12]
		}
	}
	return strings.Join(words, " ")
}

// decibels is a volume against the reference level.
func decibels(db float64) string {
	if db > -0.5 && db < 0.5 {
		return "0 dB, as measured"
	}
	return fmt.Sprintf("%+.0f dB", db)
}

// capital begins a sentence.
func capital(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}

// icons are drawn on a grid of 24 in strokes of two, so that they stay legible
// at arm's length. They only accompany words.
var icons = map[string]string{
	"now":     `<path d="M12 3v3M12 18v3M3 12h3M18 12h3"/><circle cx="12" cy="12" r="5"/>`,
	"day":     `<path d="M4 6h16v14H4zM4 10h16M8 3v4M16 3v4"/>`,
	"people":  `<circle cx="9" cy="8" r="3.5"/><path d="M3 20c0-4 2.5-6.5 6-6.5s6 2.5 6 6.5M16 5a3.5 3.5 0 0 1 0 6.5M17.5 14c2.5.8 3.5 3 3.5 6"/>`,
	"review":  `<path d="M4 12l5 5L20 6"/>`,
	"station": `<rect x="5" y="3" width="14" height="18" rx="2"/><circle cx="12" cy="14" r="3.5"/><path d="M9 7h6"/>`,
	"clinic":  `<path d="M4 20V9l8-5 8 5v11zM12 10v6M9 13h6"/>`,
	"more":    `<path d="M4 7h16M4 12h16M4 17h16"/>`,
	"stop":    `<path d="M8 3h8l5 5v8l-5 5H8l-5-5V8zM12 7v6M12 16.5v.5"/>`,
	"warn":    `<path d="M12 3l10 18H2zM12 10v5M12 17.5v.5"/>`,
	"ok":      `<circle cx="12" cy="12" r="9"/><path d="M8 12l3 3 5-6"/>`,
	"info":    `<circle cx="12" cy="12" r="9"/><path d="M12 11v6M12 7v.5"/>`,
	"wait":    `<circle cx="12" cy="12" r="9"/><path d="M12 7v5l3 3"/>`,
	"off":     `<path d="M3 3l18 18M8.5 5.5A9 9 0 0 1 20 17M5 8a9 9 0 0 0 11 11.5"/>`,
	"sound":   `<path d="M4 9v6h4l5 4V5L8 9zM16 9a4 4 0 0 1 0 6M18.5 6.5a8 8 0 0 1 0 11"/>`,
	"mute":    `<path d="M4 9v6h4l5 4V5L8 9zM16 9l5 6M21 9l-5 6"/>`,
	"print":   `<path d="M7 9V3h10v6M7 17H4V9h16v8h-3M7 14h10v7H7z"/>`,
	"go":      `<path d="M4 12h15M13 6l6 6-6 6"/>`,
	"eye":     `<path d="M2 12c3-5 6-7 10-7s7 2 10 7c-3 5-6 7-10 7s-7-2-10-7z"/><circle cx="12" cy="12" r="3"/>`,
	"undo":    `<path d="M9 14L4 9l5-5M4 9h10a6 6 0 0 1 0 12h-3"/>`,
}

// icon is a drawing that stands beside words and is silent for screen readers.
// Only our own names and strokes reach the page.
func icon(name string) (template.HTML, error) {
	strokes, ok := icons[name]
	if !ok {
		return "", fmt.Errorf("no icon is called %s", name)
	}
	return template.HTML(`<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">` + strokes + `</svg>`), nil
}

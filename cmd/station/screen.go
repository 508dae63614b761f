package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"golang.org/x/term"

	"evenbell/coach"
	"evenbell/coach/player"
)

// display shows a view to the person at the terminal.
type display interface {
	// show is called after each batch of events.
	show(v *view, events []player.Event)
	// close leaves the terminal as it was.
	close()
}

const caution = "This paces and records. It is no monitor and no alarm system."

// lines prints what happens, a line at a time.
type lines struct{ w io.Writer }

func (l *lines) show(v *view, events []player.Event) {
	for i := range events {
		e := &events[i]
		if e.Note != (player.Note{}) {
			if v.warning != "" {
				fmt.Fprintln(l.w, "sound: "+v.warning)
			} else {
				fmt.Fprintln(l.w, "sound: "+v.sink)
			}
		}
		for j := range e.Cues {
			l.cue(v, &e.Cues[j])
		}
	}
}

func (l *lines) cue(v *view, c *coach.Cue) {
	what := strings.ReplaceAll(string(c.Kind), "_", " ")
	text := v.text(c.Phrase)
	switch c.Kind {
	case coach.CueBeat:
		return
	case coach.CueSay, coach.CueAsk, coach.CueReady:
		what = ""
	case coach.CueLift, coach.CueTop, coach.CueLower, coach.CueBottom:
		what = fmt.Sprintf("%2d %s", c.Rep, c.Kind)
	case coach.CueRest, coach.CueWarmUp, coach.CueCoolDown:
		what += " " + clock(c.Length.Time())
	}
	line := fmt.Sprintf("%s  %-14s %s", stamp(c.At.Time()), what, text)
	fmt.Fprintln(l.w, strings.TrimRight(line, " "))
}

func (*lines) close() {}

// stamp is a position in a session as minutes, seconds and tenths.
func stamp(d time.Duration) string {
	tenths := int(d / (100 * time.Millisecond))
	return fmt.Sprintf("%3d:%02d.%d", tenths/600, tenths/10%60, tenths%10)
}

// screen keeps one calm page of what is being coached.
type screen struct {
	w      io.Writer
	legend []string
	width  int
	last   string
}

// The terminal's own words: the other page without a cursor, and back.
const (
	enter = "\x1b[?1049h\x1b[?25l\x1b[2J"
	leave = "\x1b[?25h\x1b[?1049l"
)

func newScreen(w io.Writer, width int, legend []string) *screen {
	fmt.Fprint(w, enter)
	return &screen{w: w, legend: legend, width: max(20, min(width, 78))}
}

func (s *screen) show(v *view, _ []player.Event) {
	var b strings.Builder
	line := func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		if r := []rune(text); len(r) > s.width {
			text = string(r[:s.width])
		}
		b.WriteString("\x1b[2K  " + text + "\r\n")
	}
	line("")
	line("%s   %s   %s", v.prog.Clinic, v.prog.Tag, stamp(v.at.Time()))
	line("")
	line("%s", v.exercise())
	line("")
	line("%s", v.doing())
	line("%s", v.bar(s.width-4))
	line("")
	for i, part := range wrap(v.said, s.width-4) {
		if i < 3 {
			line("  %s", part)
		}
	}
	for i := len(wrap(v.said, s.width-4)); i < 3; i++ {
		line("")
	}
	line("")
	if v.look {
		line("[ STOP LAMP LIT: this place needs a look ]")
	} else {
		line("")
	}
	line("")
	for _, l := range s.legend {
		line("%s", l)
	}
	line("")
	s.sound(v, line)
	line("%s", caution)
	if page := b.String(); page != s.last {
		s.last = page
		fmt.Fprint(s.w, "\x1b[H"+page)
	}
}

// sound says where the sound goes, and what is wrong with it.
func (s *screen) sound(v *view, line func(string, ...any)) {
	text := wrap("Sound: "+v.sink+" "+v.warning, s.width-4)
	for i := range 4 {
		if i < len(text) {
			line("%s", text[i])
		} else {
			line("")
		}
	}
}

func (s *screen) close() { fmt.Fprint(s.w, leave) }

// wrap breaks a text into lines of at most width letters.
func wrap(text string, width int) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			out, line = append(out, line), ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// openDisplay is the page where out is a terminal and keys are to be shown,
// and plain lines elsewhere.
func openDisplay(out io.Writer, k *keyBox) display {
	f, ok := terminal(out)
	if k == nil || !ok {
		return &lines{out}
	}
	width, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		width = 80
	}
	return newScreen(out, width, k.legend())
}

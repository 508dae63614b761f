package planform

import (
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/strict"
)

// Where tells which field a line of the text came from.
type Where struct {
	fields map[int]string // by line
	heads  map[int]string // what stands before a field's name in the table that begins on a line
}

// Field is the field a fault is about; empty where it is about none.
func (w Where) Field(f coach.Fault) string {
	if name, ok := w.fields[f.Line]; ok {
		return name
	}
	head, ok := w.heads[f.Line]
	if !ok || head == homeHead {
		return "" // the home is another page's
	}
	key := f.Key[strings.LastIndexByte(f.Key, '.')+1:]
	if strings.HasPrefix(head, "i") {
		if key == "exercise" || key == "stage" {
			key = "what"
		}
		if key == "item" {
			return ""
		}
	}
	return head + key
}

// Item is the item a fault is about, and false where it is about none.
func (w Where) Item(f coach.Fault) (int, bool) {
	if name, ok := w.fields[f.Line]; ok {
		return itemOf(name)
	}
	return itemOf(w.heads[f.Line])
}

// The keys in the order they are written; others follow in alphabetical order.
var (
	patientKeys = []string{"call", "intro", "note", "guide", "part", "warm_up_elsewhere", "cool_down_elsewhere", "warm_up", "cool_down"}
	paceKeys    = []string{"lift", "top", "lower", "bottom", "rest", "settle", "count_in", "breath_every"}
	itemKeys    = append([]string{"sets", "reps", "load", "side", "words", "last_load", "last_reps"}, paceKeys...)
)

// texts are the keys whose values are text however they look.
var texts = map[string]bool{"call": true, "note": true, "guide": true, "part": true, "exercise": true, "stage": true,
	"load": true, "side": true, "words": true, "last_load": true, "next_place": true, "next_at": true}

// ours are fields of the page that are no keys of a plan.
var ours = map[string]bool{"items": true, "day": true, "until": true, "do": true}

// Text is the plan as a file, for its reader to judge. Approvals are left out:
// what is written anew is not approved.
func (f Form) Text(fixed Fixed) (string, Where) {
	w := writer{line: 1, at: Where{map[int]string{}, map[int]string{1: ""}}}
	w.put("format", `"day-plan/1"`, "")
	w.value("day", f.Get("day"), "day")
	w.value("until", f.Get("until"), "until")
	w.put("clinic", strict.Quote(fixed.Clinic), "")
	w.put("voice", strict.Quote(fixed.Voice), "")
	w.put("unit", strict.Quote(string(fixed.Unit)), "")
	w.table("[pace]", "pace.")
	w.keys(f.scope("pace."), paceKeys, "pace.")
	w.own(f.own(fixed.Own))
	w.table("[[patient]]", "")
	w.put("tag", strict.Quote(fixed.Tag), "")
	w.keys(f.scope(""), patientKeys, "")
	w.home(fixed.Home)
	for _, p := range fixed.Precautions {
		w.precaution(p)
	}
	for i := range f.Items() {
		w.table("[[patient.item]]", Name(i, ""))
		item := f.scope(Name(i, ""))
		exercise, stage := What(item["what"])
		delete(item, "what")
		w.value("exercise", exercise, Name(i, "what"))
		w.value("stage", stage, Name(i, "what"))
		w.keys(item, itemKeys, Name(i, ""))
	}
	return w.b.String(), w.at
}

// own are those of the clinic's own exercises that the form has.
func (f Form) own(all []coach.OwnExercise) []coach.OwnExercise {
	used := map[string]bool{}
	for i := range f.Items() {
		exercise, _ := What(f.Get(Name(i, "what")))
		used[exercise] = true
	}
	return slices.DeleteFunc(slices.Clone(all), func(e coach.OwnExercise) bool { return !used[e.ID] })
}

// scope is the fields after a prefix that are keys of a plan, with what stands
// in them.
func (f Form) scope(prefix string) map[string]string {
	out := map[string]string{}
	for name := range f.Values {
		key, ok := strings.CutPrefix(name, prefix)
		if !ok || !isKey(key) && key != "what" || prefix == "" && ours[key] {
			continue
		}
		if v := f.Get(name); v != "" {
			out[key] = v
		}
	}
	return out
}

var keyForm = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)

func isKey(s string) bool { return keyForm.MatchString(s) }

type writer struct {
	b    strings.Builder
	line int // that comes next
	at   Where
}

func (w *writer) add(line string) {
	w.b.WriteString(line)
	w.b.WriteByte('\n')
	w.line++
}

func (w *writer) table(header, prefix string) {
	w.add("")
	w.at.heads[w.line] = prefix
	w.add(header)
}

func (w *writer) put(key, literal, field string) {
	if field != "" {
		w.at.fields[w.line] = field
	}
	w.add(key + " = " + literal)
}

func (w *writer) value(key, value, field string) {
	switch {
	case value == "":
	case texts[key]:
		w.put(key, strict.Quote(value), field)
	default:
		w.put(key, literal(value), field)
	}
}

func (w *writer) keys(values map[string]string, order []string, prefix string) {
	for _, k := range order {
		w.value(k, values[k], prefix+k)
		delete(values, k)
	}
	for _, k := range slices.Sorted(maps.Keys(values)) {
		w.value(k, values[k], prefix+k)
	}
}

// own writes exercises as a plan has them: what a file of exercises holds, but
// for its first line.
func (w *writer) own(own []coach.OwnExercise) {
	if len(own) == 0 {
		return
	}
	_, tables, _ := strings.Cut(string(plan.WriteOwn(own)), "\n")
	for line := range strings.SplitSeq(strings.TrimRight(tables, "\n"), "\n") {
		w.add(line)
	}
}

// homeHead marks the table of the home, which has no fields on this page.
const homeHead = "home."

func (w *writer) home(h *coach.Home) {
	if h == nil {
		return
	}
	w.table("[patient.home]", homeHead)
	w.put("telephone", strict.Quote(string(h.Telephone)), "")
	if h.Emergency != "" {
		w.put("emergency", strict.Quote(h.Emergency), "")
	}
	if h.Alone {
		w.put("alone", "true", "")
	}
	w.put("days_between", strconv.Itoa(h.DaysBetween), "")
}

func (w *writer) precaution(p coach.Precaution) {
	w.table("[[patient.precaution]]", "precaution.")
	w.put("kind", strict.Quote(string(p.Kind)), "")
	if p.Side != coach.NoSide {
		w.put("side", strict.Quote(string(p.Side)), "")
	}
	if p.Since != "" {
		w.put("since", string(p.Since), "")
	}
	if p.Until != "" {
		w.put("until", string(p.Until), "")
	}
}

var bareForm = regexp.MustCompile(`^(-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,9})?|true|false)$`)

// literal writes a number, a yes or no, or a day as such, and all else as text,
// so that the reader can say what is wrong with it.
func literal(v string) string {
	if bareForm.MatchString(v) {
		return v
	}
	if _, err := coach.ParseDay(v); err == nil {
		return v
	}
	return strict.Quote(v)
}

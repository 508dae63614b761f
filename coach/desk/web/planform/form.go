// Package planform is a plan as fields of a page: a prescription's text goes
// in, fields come out, and back again, and each fault of the text finds the
// field it is about.
//
// It may know coach's words and the form of a plan file, and nothing of pages
// or of what a plan may hold: the plan's own reader judges every value, as it
// was typed.
//
// Invariants it keeps:
//   - Nothing typed is changed or lost: what cannot be read as a number goes
//     into the text as text, and the reader says what is wrong with it.
//   - A key it does not know comes back out as it went in.
package planform

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"evenbell/coach"
)

// Form is a plan of one patient as fields. Names are keys of the plan file:
// plain for the plan and the patient, "pace.KEY" for the plan's pace, and
// "iN.KEY" for item N, from 0. An item's exercise and stage are one field,
// "iN.what", written EXERCISE/STAGE.
type Form struct{ Values url.Values }

// Most is how many items a form takes.
const Most = 40

// FromValues is the form that was sent.
func FromValues(v url.Values) Form { return Form{v} }

// New is an empty form.
func New() Form { return Form{url.Values{}} }

// Get is what stands in a field, without blanks around it.
func (f Form) Get(name string) string { return strings.TrimSpace(f.Values.Get(name)) }

// Set puts something in a field; nothing clears it.
func (f Form) Set(name, value string) {
	if value == "" {
		f.Values.Del(name)
		return
	}
	f.Values.Set(name, value)
}

// Items is how many items the form has.
func (f Form) Items() int {
	n, err := strconv.Atoi(f.Get("items"))
	if err != nil || n < 0 {
		return 0
	}
	return min(n, Most)
}

// Name is the name of an item's field.
func Name(item int, key string) string { return fmt.Sprintf("i%d.%s", item, key) }

// Item is an item's fields by key.
func (f Form) Item(i int) url.Values {
	out := url.Values{}
	prefix := Name(i, "")
	for name, v := range f.Values {
		if key, ok := strings.CutPrefix(name, prefix); ok {
			out[key] = v
		}
	}
	return out
}

// What splits the exercise from its stage.
func What(what string) (exercise, stage string) {
	exercise, stage, _ = strings.Cut(strings.TrimSpace(what), "/")
	return exercise, stage
}

// Add puts an item in at a place.
func (f Form) Add(at int, item url.Values) {
	list := f.list()
	f.put(slices.Insert(list, min(max(at, 0), len(list)), item))
}

// Take takes an item out.
func (f Form) Take(i int) {
	if list := f.list(); i >= 0 && i < len(list) {
		f.put(slices.Delete(list, i, i+1))
	}
}

// Move moves an item to another place.
func (f Form) Move(from, to int) {
	list := f.list()
	if from < 0 || to < 0 || from >= len(list) || to >= len(list) {
		return
	}
	item := list[from]
	f.put(slices.Insert(slices.Delete(list, from, from+1), to, item))
}

func (f Form) list() []url.Values {
	out := make([]url.Values, f.Items())
	for i := range out {
		out[i] = f.Item(i)
	}
	return out
}

func (f Form) put(list []url.Values) {
	for name := range f.Values {
		if _, ok := itemOf(name); ok {
			f.Values.Del(name)
		}
	}
	list = list[:min(len(list), Most)]
	for i, item := range list {
		for key, v := range item {
			f.Values[Name(i, key)] = v
		}
	}
	f.Values.Set("items", strconv.Itoa(len(list)))
}

// itemOf tells which item a field belongs to.
func itemOf(name string) (int, bool) {
	head, _, ok := strings.Cut(name, ".")
	number, isItem := strings.CutPrefix(head, "i")
	if !ok || !isItem {
		return 0, false
	}
	n, err := strconv.Atoi(number)
	return n, err == nil
}

// Fixed is what a plan says that is not typed in it: the clinic's settings and
// the patient's record.
type Fixed struct {
	Clinic, Voice string
	Unit          coach.Unit
	Tag           string
	Home          *coach.Home // nil for who exercises at the clinic
	Precautions   []coach.Precaution
	Own           []coach.OwnExercise // the clinic's own; those of the plan go into its text
}

package web

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"evenbell/coach/desk"
)

// form is what somebody typed, with what is wrong with it, field by field. A
// page with faults is shown again with everything still in its fields.
type form struct {
	Values url.Values
	Faults []fieldFault // in the order they were found
}

// fieldFault is what is wrong with one field, and what is allowed.
type fieldFault struct{ Name, Words string }

// newForm is an empty form, or one filled with what is known already: pairs of
// name and value.
func newForm(pairs ...string) *form {
	f := &form{Values: url.Values{}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Values.Set(pairs[i], pairs[i+1])
	}
	return f
}

// Get is what stands in a field, without blanks around it.
func (f *form) Get(name string) string {
	if f == nil {
		return ""
	}
	return strings.TrimSpace(f.Values.Get(name))
}

// Has reports whether a choice of a field with several is made.
func (f *form) Has(name, value string) bool {
	return f != nil && slices.Contains(f.Values[name], value)
}

// need is what stands in a field that must not be empty.
func (f *form) need(name, words string) string {
	s := f.Get(name)
	if s == "" {
		f.fault(name, "%s", words)
	}
	return s
}

// fault says what is wrong with a field and what is allowed; with an empty
// name it is about the whole form.
func (f *form) fault(name, format string, a ...any) {
	f.Faults = append(f.Faults, fieldFault{name, fmt.Sprintf(format, a...)})
}

// takes puts what the desk refused at the field it is about, and reports
// whether err was such a refusal; any other error is still the caller's.
func (f *form) takes(err error) bool {
	var r desk.Refusal
	if !errors.As(err, &r) {
		return false
	}
	f.fault(r.Field, "%s", capital(r.Message))
	return true
}

// ok reports that nothing is wrong.
func (f *form) ok() bool { return len(f.Faults) == 0 }

// Fault is what is wrong with a field; empty if nothing is.
func (f *form) Fault(name string) string {
	if f == nil {
		return ""
	}
	for _, x := range f.Faults {
		if x.Name == name {
			return x.Words
		}
	}
	return ""
}

// field is one field as the templates "text-field", "area-field",
// "choice-field" and "check-field" draw it.
type field struct {
	Name, Label, Hint string
	Value, Fault      string
	Type              string // of the input; text where empty
	Attr              map[string]string
	Choices           []choice
	form              *form
}

// choice is one of several things to choose from.
type choice struct {
	Value, Label string
	Chosen       bool
}

// newField is for templates: field FORM NAME LABEL, then further words as
// key=value: hint, type, and the attributes inputmode, autocomplete, step, min,
// max, maxlength, placeholder, pattern, rows, list, size, id; "required" and
// "autofocus" alone.
func newField(f *form, name, label string, more ...string) (field, error) {
	d := field{Name: name, Label: label, Value: f.value(name), Fault: f.Fault(name), Type: "text", Attr: map[string]string{}, form: f}
	for _, m := range more {
		key, value, _ := strings.Cut(m, "=")
		switch key {
		case "hint":
			d.Hint = value
		case "type":
			d.Type = value
		case "inputmode", "autocomplete", "step", "min", "max", "maxlength", "placeholder", "pattern", "rows", "list", "size", "id", "required", "autofocus", "spellcheck":
			d.Attr[key] = value
		default:
			return d, fmt.Errorf("field %s: %s is no word for a field", name, key)
		}
	}
	return d, nil
}

// value is what stands in a field exactly as it was typed.
func (f *form) value(name string) string {
	if f == nil {
		return ""
	}
	return f.Values.Get(name)
}

// ID is the field's id in the page.
func (d field) ID() string {
	if id := d.Attr["id"]; id != "" {
		return id
	}
	return "f-" + d.Name
}

// Required reports that the field must be filled.
func (d field) Required() bool { _, ok := d.Attr["required"]; return ok }

// Autofocus reports that the page begins in this field.
func (d field) Autofocus() bool { _, ok := d.Attr["autofocus"]; return ok }

// Described names what describes the field, for aria-describedby.
func (d field) Described() string {
	var ids []string
	if d.Hint != "" {
		ids = append(ids, d.ID()+"-hint")
	}
	if d.Fault != "" {
		ids = append(ids, d.ID()+"-fault")
	}
	return strings.Join(ids, " ")
}

// With gives the field its choices, as value, label and so on.
func (d field) With(choices []choice) field {
	d.Choices = make([]choice, len(choices))
	for i, c := range choices {
		c.Chosen = d.form.Has(d.Name, c.Value) || c.Value == "" && d.form.Get(d.Name) == ""
		d.Choices[i] = c
	}
	return d
}

// choices makes choices of values and labels, one after the other.
func choices(pairs ...string) ([]choice, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("choices come in pairs of value and label")
	}
	var out []choice
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, choice{Value: pairs[i], Label: pairs[i+1]})
	}
	return out, nil
}

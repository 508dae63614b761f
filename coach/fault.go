package coach

import "fmt"

// Fault is one thing wrong with a file someone wrote.
type Fault struct {
	File    string
	Line    int    // from 1; 0 when it belongs to no line
	Key     string // dotted, as in "patient.item.reps"; empty when it belongs to none
	Message string // what is wrong and what is allowed
	Warning bool   // worth a look, but the file stands
}

// String is the one-line form: "FILE:LINE: key: what is wrong and what is allowed".
func (f Fault) String() string {
	s := f.File
	if f.Line > 0 {
		s += fmt.Sprintf(":%d", f.Line)
	}
	if f.Warning {
		s += ": warning"
	}
	if f.Key != "" {
		s += ": " + f.Key
	}
	return s + ": " + f.Message
}

// Errors are the faults that are not warnings.
func Errors(fs []Fault) []Fault {
	var out []Fault
	for _, f := range fs {
		if !f.Warning {
			out = append(out, f)
		}
	}
	return out
}

package hardware

import "fmt"

// Fault is one setting of a box that can't be used. Whoever reads a file knows
// its line.
type Fault struct {
	Key     string // dotted, as it stands in the box's part of the file: "stop.line"
	Message string // what is wrong and what is allowed
}

// Faultf makes a fault.
func Faultf(key, format string, args ...any) Fault {
	return Fault{Key: key, Message: fmt.Sprintf(format, args...)}
}

// Error is the key and what is wrong.
func (f Fault) Error() string { return f.Key + ": " + f.Message }

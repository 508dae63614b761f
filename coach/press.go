package coach

import "fmt"

// Button is one control of the button box.
type Button string

// The five controls.
const (
	Tap   Button = "tap" // large, also a pedal
	Minus Button = "minus"
	Plus  Button = "plus"
	Hold  Button = "hold"
	Stop  Button = "stop" // red
)

// Buttons lists the five controls in the order they stand on the box.
var Buttons = []Button{Tap, Minus, Plus, Hold, Stop}

// ParseButton reads a control's name.
func ParseButton(s string) (Button, error) {
	for _, b := range Buttons {
		if s == string(b) {
			return b, nil
		}
	}
	return "", fmt.Errorf("%q is not a control; the controls are tap, minus, plus, hold and stop", s)
}

// Press is one button event on the sample clock.
type Press struct {
	Button Button
	At     Samples // where it takes effect
	Heard  Samples // the sample being heard when the contact closed
}

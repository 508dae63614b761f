// Package keys makes a button box of a keyboard: for rehearsing in a terminal,
// and for a station that has no box yet.
//
// It knows bytes from a terminal and which control each stands for, and
// imports only the contract of the box. Its choices, and why:
//
//   - Whatever can't be told apart from a wish to stop is a stop: an Escape
//     that comes alone is one. A whole escape sequence (an arrow, a function
//     key) is one key that means nothing, its letters too.
//   - A key that is held down repeats itself in a terminal; repeats closer
//     together than a hand can press are dropped there. Input from a pipe or a
//     file is taken as it comes, byte by byte.
//   - Of the terminal only what is needed is changed: lines, echo, and the keys
//     that interrupt or suspend. Output stays as it was, so that plain lines
//     still print right, and the quit key of the terminal (Ctrl-\) still works.
package keys

import "evenbell/hardware"

// Key says which keys stand for a control.
type Key struct {
	Control hardware.Control // empty: the keys ask the program to end
	Keys    string           // as a person would call them
}

// Legend is what each key means, in the order of the controls, the way out
// last.
func Legend() []Key {
	return []Key{
		{hardware.Tap, "Space or Enter"},
		{hardware.Minus, "-"},
		{hardware.Plus, "+ or ="},
		{hardware.Hold, "h"},
		{hardware.Stop, "s or Esc"},
		{"", "q or Ctrl-C"},
	}
}

// controls is what single bytes mean. Capitals mean what small letters do.
var controls = map[byte]hardware.Control{
	' ':    hardware.Tap,
	'\r':   hardware.Tap,
	'\n':   hardware.Tap,
	'-':    hardware.Minus,
	'_':    hardware.Minus, // the same key, shifted
	'+':    hardware.Plus,
	'=':    hardware.Plus,
	'h':    hardware.Hold,
	'H':    hardware.Hold,
	's':    hardware.Stop,
	'S':    hardware.Stop,
	escape: hardware.Stop, // alone
}

const (
	escape    = 0x1b
	interrupt = 0x03 // Ctrl-C
)

// read is what the bytes of one read mean, up to the first that asks to quit.
// A sequence is whole in one read: a terminal sends it in one piece.
func read(b []byte) (pressed []hardware.Control, quit bool) {
	for len(b) > 0 {
		if n := sequence(b); n > 1 {
			b = b[n:]
			continue
		}
		switch b[0] {
		case 'q', 'Q', interrupt:
			return pressed, true
		}
		if c, ok := controls[b[0]]; ok {
			pressed = append(pressed, c)
		}
		b = b[1:]
	}
	return pressed, false
}

// sequence is the length of the escape sequence that b begins with, as
// ECMA-48 forms them: ESC [ parameters final, or ESC O final as in function
// keys, or ESC and the key held with Alt. It is at most 1 where there is none.
func sequence(b []byte) int {
	if len(b) < 2 || b[0] != escape || b[1] == escape {
		return 1
	}
	switch b[1] {
	case 'O':
		return min(3, len(b))
	case '[':
		for n := 2; n < len(b); n++ {
			if b[n] >= 0x40 && b[n] <= 0x7e {
				return n + 1
			}
		}
		return len(b)
	}
	return 2
}

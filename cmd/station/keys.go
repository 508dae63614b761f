package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"golang.org/x/term"

	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/hardware"
	"evenbell/hardware/keys"
)

// keyBox is the terminal's keyboard as a button box.
type keyBox struct {
	box     *keys.Box
	presses chan player.Pressed
	quit    chan struct{} // closed when the person asks to leave
}

// openKeys takes the keyboard, where in is a terminal; else it gives nil.
func openKeys(in io.Reader) (*keyBox, error) {
	f, ok := terminal(in)
	if !ok {
		return nil, nil
	}
	box, err := keys.Open(f)
	if err != nil {
		return nil, err
	}
	k := &keyBox{box: box, presses: make(chan player.Pressed), quit: make(chan struct{})}
	go k.pass()
	return k, nil
}

// terminal is what v is, where it is a terminal.
func terminal(v any) (*os.File, bool) {
	f, ok := v.(*os.File)
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// pass hands presses on until the box ends.
func (k *keyBox) pass() {
	defer close(k.presses)
	for p := range k.box.Presses() {
		k.presses <- player.Pressed{Button: coach.Button(p.Control), Time: p.Time}
	}
	if errors.Is(k.box.Err(), hardware.ErrQuit) {
		close(k.quit)
	}
}

// close gives the keyboard back.
func (k *keyBox) close() {
	_ = k.box.Close() // the terminal is put back as far as it can be
	for range k.presses {
	}
}

// legend says which key is which control.
func (k *keyBox) legend() []string {
	var out []string
	for _, key := range keys.Legend() {
		name := string(key.Control)
		if name == "" {
			name = "leave"
		}
		out = append(out, fmt.Sprintf("%-6s %s", name, key.Keys))
	}
	return out
}

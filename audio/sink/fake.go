package sink

import "slices"

// Fake is a device for tests, without time: it holds Buffer samples, and a
// write for which it has no room makes it play its oldest ones at once. What
// was heard thus trails what was written by exactly Buffer samples, unless
// Advance says otherwise. The zero Fake is ready.
type Fake struct {
	Heard []int16 // everything it has played

	under     []int16 // taken, not yet played
	dry       bool
	started   bool
	underruns int
	gone      bool
	closed    bool
}

// Advance plays n samples, fewer if it runs dry first.
func (f *Fake) Advance(n int) {
	if n > len(f.under) {
		n = len(f.under)
		if f.started && !f.dry {
			f.underruns++
		}
		f.dry = true
	}
	f.Heard = append(f.Heard, f.under[:n]...)
	f.under = slices.Delete(f.under, 0, n)
}

// Unplug makes the device vanish, with whatever it has not played.
func (f *Fake) Unplug() { f.gone, f.under = true, nil }

// Write plays the oldest samples to make room for the block.
func (f *Fake) Write(block []int16) error {
	if err := f.trouble(); err != nil || len(block) == 0 {
		return err
	}
	f.under = append(f.under, block...)
	f.dry, f.started = false, true
	if over := len(f.under) - Buffer; over > 0 {
		f.Advance(over)
	}
	return nil
}

// Delay is how many samples it holds.
func (f *Fake) Delay() (int, error) { return len(f.under), f.trouble() }

// Drop discards what it holds.
func (f *Fake) Drop() (int, error) {
	if err := f.trouble(); err != nil {
		return 0, err
	}
	n := len(f.under)
	f.under, f.started = nil, false
	return n, nil
}

// Underruns counts how often Advance asked for more than there was.
func (f *Fake) Underruns() int { return f.underruns }

// Close plays what it holds.
func (f *Fake) Close() error {
	if f.closed {
		return nil
	}
	err := f.trouble()
	f.Advance(len(f.under))
	f.closed = true
	return err
}

func (f *Fake) trouble() error {
	switch {
	case f.closed:
		return errClosed
	case f.gone:
		return ErrGone
	}
	return nil
}

// Package boxtest is the contract of a button box as a test that every kind of
// box runs over itself. It knows a box by its interface alone, and is imported
// by tests only.
package boxtest

import (
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/hardware"
)

// Rig is one box under test, with a hand to press it.
type Rig struct {
	Box   hardware.Box
	Press func(hardware.Control) // as a person would, once; may return before it arrives
	End   func()                 // lets the input run out; nil for a box without an end
	Quit  func()                 // asks the program to end; nil for a box that can't ask
}

// patience is how long a press may take to arrive here. It only bounds a test
// that fails.
const patience = 10 * time.Second

// Contract tries what the comments of hardware.Box promise on the boxes that
// open makes.
func Contract(t *testing.T, open func(t *testing.T) Rig) {
	t.Run("every control arrives once, in order, with its time", func(t *testing.T) {
		r := open(t)
		last := hardware.Now().Truncate(time.Microsecond) // some kernels' events count microseconds
		for range 3 {
			for _, c := range hardware.Controls {
				r.Press(c)
				p := receive(t, r.Box)
				assert.Equal(t, c, p.Control)
				assert.GreaterOrEqual(t, p.Time, last)
				assert.LessOrEqual(t, p.Time, hardware.Now())
				last = p.Time
			}
		}
		assert.NoError(t, r.Box.Err(), "before it has ended")
		require.NoError(t, r.Box.Close())
	})
	t.Run("presses wait for a slow receiver", func(t *testing.T) {
		r := open(t)
		for _, c := range hardware.Controls {
			r.Press(c)
		}
		var got []hardware.Control
		for range hardware.Controls {
			got = append(got, receive(t, r.Box).Control)
		}
		assert.ElementsMatch(t, hardware.Controls, got)
		require.NoError(t, r.Box.Close())
	})
	t.Run("close ends it, whatever nobody has received", func(t *testing.T) {
		r := open(t)
		for _, c := range hardware.Controls {
			r.Press(c)
		}
		require.NoError(t, r.Box.Close())
		over(t, r.Box)
		require.NoError(t, r.Box.Err())
		require.NoError(t, r.Box.Close(), "again")
	})
	t.Run("its end comes after its last press", func(t *testing.T) {
		r := open(t)
		if r.End == nil {
			r.Box.Close()
			t.Skip("this box has no end")
		}
		r.Press(hardware.Stop)
		r.End()
		assert.Equal(t, hardware.Stop, receive(t, r.Box).Control)
		over(t, r.Box)
		require.ErrorIs(t, r.Box.Err(), io.EOF)
		require.NoError(t, r.Box.Close())
		require.ErrorIs(t, r.Box.Err(), io.EOF, "closing does not change why it ended")
	})
	t.Run("it can ask to quit", func(t *testing.T) {
		r := open(t)
		if r.Quit == nil {
			r.Box.Close()
			t.Skip("this box can't ask")
		}
		r.Quit()
		over(t, r.Box)
		require.ErrorIs(t, r.Box.Err(), hardware.ErrQuit)
		require.NoError(t, r.Box.Close())
	})
}

func receive(t *testing.T, b hardware.Box) hardware.Press {
	t.Helper()
	select {
	case p, open := <-b.Presses():
		require.True(t, open, "the box has ended: %v", b.Err())
		return p
	case <-time.After(patience):
		require.FailNow(t, "the press did not arrive")
	}
	return hardware.Press{}
}

// over wants the channel closed, with nothing left in it.
func over(t *testing.T, b hardware.Box) {
	t.Helper()
	select {
	case p, open := <-b.Presses():
		require.False(t, open, "one more press: %v", p)
	case <-time.After(patience):
		require.FailNow(t, "the box did not end")
	}
}

package keys

import (
	"bytes"
	"context"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"

	"evenbell/hardware"
	"evenbell/hardware/boxtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// keyOf is one key of each control.
var keyOf = map[hardware.Control]string{
	hardware.Tap: " ", hardware.Minus: "-", hardware.Plus: "+", hardware.Hold: "h", hardware.Stop: "s",
}

func TestBoxKeepsTheContract(t *testing.T) {
	for name, open := range map[string]func(*testing.T) (in, hand *os.File){
		"pipe":     pipe,
		"terminal": terminal,
	} {
		t.Run(name, func(t *testing.T) {
			boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
				in, hand := open(t)
				box, err := Open(in)
				require.NoError(t, err)
				press := func(s string) {
					_, err := hand.WriteString(s)
					require.NoError(t, err)
				}
				rig := boxtest.Rig{
					Box: box,
					Press: func(c hardware.Control) {
						if name == "terminal" {
							time.Sleep(repeat) // no hand is faster
						}
						press(keyOf[c])
					},
					Quit: func() { press("q") },
				}
				if name == "pipe" {
					rig.End = func() { hand.Close() }
				}
				return rig
			})
		})
	}
}

func TestAnyReaderWillDo(t *testing.T) {
	box, err := Open(strings.NewReader(" -x+hs"))
	require.NoError(t, err)
	var got []hardware.Control
	for p := range box.Presses() {
		got = append(got, p.Control)
	}
	assert.Equal(t, hardware.Controls, got)
	assert.ErrorIs(t, box.Err(), io.EOF)
	require.NoError(t, box.Close())
}

func TestWhatBytesMean(t *testing.T) {
	tap, minus, plus, hold, stop := hardware.Tap, hardware.Minus, hardware.Plus, hardware.Hold, hardware.Stop
	for _, c := range []struct {
		in   string
		want []hardware.Control
		quit bool
	}{
		{"", nil, false},
		{" ", []hardware.Control{tap}, false},
		{"\r\n", []hardware.Control{tap, tap}, false},
		{"-_+=", []hardware.Control{minus, minus, plus, plus}, false},
		{"hHsS", []hardware.Control{hold, hold, stop, stop}, false},
		{"q", nil, true},
		{"\x03", nil, true},
		{" q ", []hardware.Control{tap}, true},
		{"zx12\x00\x7f\xc3\xa9", nil, false},
		{"\x1b", []hardware.Control{stop}, false},
		{"\x1b\x1b", []hardware.Control{stop, stop}, false},
		{" \x1b", []hardware.Control{tap, stop}, false},
		// Escape sequences, from ECMA-48 and what terminals send (from memory).
		{"\x1b[A", nil, false},                                  // up
		{"\x1b[A ", []hardware.Control{tap}, false},             // and a space
		{"\x1b[1;5C", nil, false},                               // control and right
		{"\x1b[24~s", []hardware.Control{stop}, false},          // F12, then s
		{"\x1bOS", nil, false},                                  // F4: its S is no stop
		{"\x1bOq", nil, false},                                  // keypad 1: its q is no quit
		{"\x1b[", nil, false},                                   // cut off
		{"\x1bs", nil, false},                                   // Alt and s
		{"\x1b\x1b[A", []hardware.Control{stop}, false},         // Esc, then up
		{"\x1b[200~ \x1b[201~", []hardware.Control{tap}, false}, // a paste
	} {
		got, quit := read([]byte(c.in))
		assert.Equal(t, c.want, got, "%q", c.in)
		assert.Equal(t, c.quit, quit, "%q", c.in)
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"\x1b[1;5C", "\x1bO", " q", "\x1b[\x1b"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		pressed, quit := read(b)
		if len(pressed) > len(b) {
			t.Errorf("%d presses from %d bytes", len(pressed), len(b))
		}
		if quit && !bytes.ContainsAny(b, "qQ\x03") {
			t.Error("quit, and nobody asked")
		}
	})
}

func TestTheLegendIsWhatTheKeysDo(t *testing.T) {
	named := map[string]string{"Space": " ", "Enter": "\r", "Esc": "\x1b", "Ctrl-C": "\x03"}
	var listed []hardware.Control
	for _, k := range Legend() {
		for key := range strings.SplitSeq(k.Keys, " or ") {
			b, ok := named[key]
			if !ok {
				b = key
			}
			got, quit := read([]byte(b))
			if k.Control == "" {
				assert.True(t, quit, key)
				continue
			}
			assert.Equal(t, []hardware.Control{k.Control}, got, key)
		}
		listed = append(listed, k.Control)
	}
	assert.Equal(t, append(append([]hardware.Control{}, hardware.Controls...), ""), listed)
}

func TestAKeyHeldDownIsOnePress(t *testing.T) {
	keys := make(chan byte)
	next := func(b []byte) (int, error) {
		k, open := <-keys
		if !open {
			return 0, io.EOF
		}
		b[0] = k
		return 1, nil
	}
	feed := hardware.NewFeed(watch(next, time.Hour)) // everything is a repeat
	for range 20 {
		keys <- ' '
	}
	keys <- 's'
	close(keys)
	var got []hardware.Control
	for p := range feed.Presses() {
		got = append(got, p.Control)
	}
	assert.Equal(t, []hardware.Control{hardware.Tap, hardware.Stop}, got, "another control is no repeat")
	require.NoError(t, feed.Close())
}

func TestAReaderThatFailsIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		feed := hardware.NewFeed(watch(func([]byte) (int, error) { return 0, unix.EIO }, 0))
		<-feed.Presses()
		synctest.Wait()
		require.ErrorContains(t, feed.Err(), "reading keys: input/output error")
		require.NoError(t, feed.Close())
	})
}

func TestCloseEndsAWaitForAKey(t *testing.T) {
	in, _ := pipe(t)
	box, err := Open(in)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	closed := make(chan error)
	go func() { closed <- box.Close() }()
	select {
	case err := <-closed:
		require.NoError(t, err)
	case <-ctx.Done():
		t.Fatal("Close waits for a key")
	}
}

func TestTheTerminalIsPutBack(t *testing.T) {
	in, _ := terminal(t)
	was, err := unix.IoctlGetTermios(int(in.Fd()), unix.TCGETS)
	require.NoError(t, err)
	box, err := Open(in)
	require.NoError(t, err)
	during, err := unix.IoctlGetTermios(int(in.Fd()), unix.TCGETS)
	require.NoError(t, err)
	assert.Zero(t, during.Lflag&(unix.ECHO|unix.ICANON), "keys arrive at once and unseen")
	assert.Equal(t, was.Oflag, during.Oflag, "output stays as it was")
	require.NoError(t, box.Close())
	after, err := unix.IoctlGetTermios(int(in.Fd()), unix.TCGETS)
	require.NoError(t, err)
	assert.Equal(t, was, after)
	require.NoError(t, box.Close())
}

func TestControlCInATerminalAsksToQuit(t *testing.T) {
	in, hand := terminal(t)
	box, err := Open(in)
	require.NoError(t, err)
	_, err = hand.WriteString("\x03")
	require.NoError(t, err)
	_, open := <-box.Presses()
	assert.False(t, open)
	assert.ErrorIs(t, box.Err(), hardware.ErrQuit)
	require.NoError(t, box.Close())
}

// pipe is an input and the hand that feeds it.
func pipe(t *testing.T) (in, hand *os.File) {
	t.Helper()
	in, hand, err := os.Pipe()
	require.NoError(t, err)
	t.Cleanup(func() { in.Close(); hand.Close() })
	return in, hand
}

// terminal is a pseudo-terminal and the hand at its keyboard.
func terminal(t *testing.T) (in, hand *os.File) {
	t.Helper()
	hand, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal(err)
		}
		t.Skip("no pseudo-terminal is to be had: " + err.Error())
	}
	t.Cleanup(func() { hand.Close() })
	require.NoError(t, unix.IoctlSetPointerInt(int(hand.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(hand.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	in, err = os.OpenFile("/dev/pts/"+strconv.Itoa(n), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	t.Cleanup(func() { in.Close() })
	return in, hand
}

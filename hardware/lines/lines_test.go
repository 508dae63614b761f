package lines

import (
	"bytes"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"

	"evenbell/hardware"
	"evenbell/hardware/boxtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

func fifo(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "box")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	return path
}

// say writes a line as a program that comes and goes.
func say(t *testing.T, path, text string) {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteString(text)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

func TestAFIFOKeepsTheContract(t *testing.T) {
	boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
		path := fifo(t)
		box, err := Open(Config{Path: path}, quiet())
		require.NoError(t, err)
		return boxtest.Rig{Box: box, Press: func(c hardware.Control) { say(t, path, string(c)+"\n") }}
	})
}

func TestAFileIsReadOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "presses")
	require.NoError(t, os.WriteFile(path, []byte("tap\r\n\n  plus \nminus\nhold\nstop"), 0o600))
	box, err := Open(Config{Path: path}, quiet())
	require.NoError(t, err)
	var got []hardware.Control
	for p := range box.Presses() {
		got = append(got, p.Control)
	}
	assert.Equal(t, []hardware.Control{hardware.Tap, hardware.Plus, hardware.Minus, hardware.Hold, hardware.Stop}, got)
	require.ErrorIs(t, box.Err(), io.EOF)
	require.NoError(t, box.Close())
}

func TestCloseIsNotHeldUpByAFileThatNobodyReceives(t *testing.T) {
	path := filepath.Join(t.TempDir(), "presses")
	require.NoError(t, os.WriteFile(path, []byte(strings.Repeat("tap\n", 100_000)), 0o600))
	box, err := Open(Config{Path: path}, quiet())
	require.NoError(t, err)
	time.Sleep(10 * time.Millisecond)
	require.NoError(t, box.Close())
	require.NoError(t, box.Err())
}

func TestALineThatNamesNoControlIsToldAndPassedOver(t *testing.T) {
	path := fifo(t)
	var told bytes.Buffer
	box, err := Open(Config{Path: path}, slog.New(slog.NewTextHandler(&told, nil)))
	require.NoError(t, err)
	say(t, path, "pause\nTap\n"+strings.Repeat("stop", 20_000)+"\n")
	say(t, path, "st")
	say(t, path, "op\n")
	assert.Equal(t, hardware.Stop, (<-box.Presses()).Control, "a name may come in pieces")
	require.NoError(t, box.Close())
	assert.Equal(t, 3, strings.Count(told.String(), "a line is passed over"))
	assert.Contains(t, told.String(), `\"pause\" is not a control; the controls are tap, minus, plus, hold and stop`)
	assert.Contains(t, told.String(), "path="+path)
	assert.Less(t, told.Len(), 2000, "however long the line")
}

func TestPlacesThatCantBeRead(t *testing.T) {
	_, err := Open(Config{}, quiet())
	require.ErrorContains(t, err, "path: missing; write the path of a FIFO")
	_, err = Open(Config{Path: filepath.Join(t.TempDir(), "none")}, quiet())
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = Open(Config{Path: t.TempDir()}, quiet())
	require.ErrorContains(t, err, "is neither a FIFO nor a regular file")
}

func FuzzSplitter(f *testing.F) {
	f.Add([]byte("tap\nplus\n"), uint8(3))
	f.Add([]byte("\n\n\r\nstop"), uint8(1))
	f.Add(bytes.Repeat([]byte("x"), 200), uint8(63))
	f.Fuzz(func(t *testing.T, b []byte, piece uint8) {
		var want, got []string
		for text := range strings.SplitSeq(string(b), "\n") {
			want = append(want, text[:min(len(text), longest)])
		}
		var s splitter
		line := func(text string) { got = append(got, text) }
		for rest := b; len(rest) > 0; {
			n := min(len(rest), int(piece)+1)
			s.feed(rest[:n], line)
			rest = rest[n:]
		}
		s.end(line)
		assert.Equal(t, want, got)
	})
}

package speech

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"golang.org/x/sys/unix"
)

// What a speech program may take: a sentence needs a hundredth of it.
const (
	longestRun  = 10 * time.Second
	mostMemory  = 512 << 20 // bytes of addresses
	mostWritten = 96 << 20  // bytes of one file; espeak-ng makes room for 64 MiB of sound it does not play
	mostOutput  = 16 << 20  // bytes of what it spoke that are read
	mostMessage = 4 << 10   // bytes of what it says of itself
)

// program is a call of a speech program that writes the file named out.
type program struct {
	name  string
	args  func(out string) []string
	stdin string
}

// speak runs the program within bounds and reads what it wrote.
func (p program) speak(ctx context.Context) ([]float64, error) {
	dir, err := os.MkdirTemp("", "speech-*")
	if err != nil {
		return nil, fmt.Errorf("speaking with %s: %w", p.name, err)
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "out.wav")
	if err := p.run(ctx, out); err != nil {
		return nil, fmt.Errorf("speaking with %s: %w", p.name, err)
	}
	f, err := os.Open(out)
	if err != nil {
		return nil, fmt.Errorf("speaking with %s: %w", p.name, err)
	}
	defer f.Close()
	sound, err := ReadWAV(io.LimitReader(f, mostOutput))
	if err != nil {
		return nil, fmt.Errorf("speaking with %s: %w", p.name, err)
	}
	return sound, nil
}

func (p program) run(ctx context.Context, out string) error {
	ctx, stop := context.WithTimeout(ctx, longestRun)
	defer stop()
	cmd := exec.CommandContext(ctx, p.name, p.args(out)...)
	cmd.Stdin, cmd.WaitDelay = strings.NewReader(p.stdin), time.Second
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // so that nothing it starts outlives it
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	msg := &message{}
	cmd.Stdout, cmd.Stderr = msg, msg
	if err := cmd.Start(); err != nil {
		return err
	}
	bound(cmd.Process.Pid)
	if err := cmd.Wait(); err != nil {
		return fmt.Errorf("%w: %s", err, bytes.TrimSpace(msg.text))
	}
	return nil
}

// bound limits a running program. A program that has ended already needs no
// limit, so an error here is none.
func bound(pid int) {
	for what, most := range map[int]uint64{
		unix.RLIMIT_AS: mostMemory, unix.RLIMIT_FSIZE: mostWritten,
		unix.RLIMIT_CPU: uint64(longestRun / time.Second), unix.RLIMIT_CORE: 0,
	} {
		_ = unix.Prlimit(pid, what, &unix.Rlimit{Cur: most, Max: most}, nil)
	}
}

// message keeps the beginning of what a program says and drops the rest.
type message struct{ text []byte }

func (m *message) Write(p []byte) (int, error) {
	m.text = append(m.text, p[:min(len(p), mostMessage-len(m.text))]...)
	return len(p), nil
}

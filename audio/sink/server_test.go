package sink

import (
	"encoding/binary"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// server is a private PulseAudio with one output that nobody hears.
type server struct {
	t       testing.TB
	dir     string
	process *exec.Cmd
}

func (s *server) address() string { return "unix:" + filepath.Join(s.dir, "native") }

// startServer runs a PulseAudio of our own whose output has a name, with
// everything it keeps in a temporary folder.
func startServer(t testing.TB, output string) *server {
	t.Helper()
	program := peer(t, "pulseaudio")
	peer(t, "pactl")
	dir, err := os.MkdirTemp("", "pulse") // a socket's path must be short
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	s := &server{t: t, dir: dir}
	s.process = s.command(program, "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
		"--realtime=no", "--high-priority=no", "--log-level=error",
		"-L", "module-null-sink rate=48000 channels=1 sink_name="+output,
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+filepath.Join(dir, "native"))
	require.NoError(t, s.process.Start())
	t.Cleanup(func() { // the kill is for one that a test has halted
		s.process.Process.Signal(syscall.SIGCONT)
		s.process.Process.Kill()
		s.process.Wait()
	})
	require.Eventually(t, func() bool {
		return s.command("pactl", "info").Run() == nil
	}, time.Minute, 50*time.Millisecond, "the private PulseAudio does not answer")
	return s
}

func (s *server) command(name string, arg ...string) *exec.Cmd {
	c := exec.Command(name, arg...)
	c.Env = append(os.Environ(), "HOME="+s.dir, "XDG_RUNTIME_DIR="+s.dir, "PULSE_SERVER="+s.address(),
		"PULSE_COOKIE="+filepath.Join(s.dir, "cookie"))
	return c
}

// unplug removes the output.
func (s *server) unplug() {
	require.NoError(s.t, s.command("pactl", "unload-module", "module-null-sink").Run())
}

// halt stops the server where it is, as a hung one would.
func (s *server) halt() {
	require.NoError(s.t, s.process.Process.Signal(syscall.SIGSTOP))
}

// wake gets an idle output through the seconds of silence it has under way.
func (s *server) wake(output string) {
	p, err := NewPulse(s.address())
	require.NoError(s.t, err)
	require.Equal(s.t, output, p.Output())
	s.t.Cleanup(func() { p.Close() }) // which keeps it awake until then
}

// tape is a recording of an output's monitor under way.
type tape struct {
	t     testing.TB
	parec *exec.Cmd
	pipe  io.Closer
	begun chan struct{}
	done  chan struct{}
	heard []int16
}

// record starts recording what an output plays.
func (s *server) record(output string) *tape {
	c := s.command(peer(s.t, "parec"), "--device="+output+".monitor", "--rate=48000", "--channels=1",
		"--format=s16le", "--latency-msec=5", "--raw")
	out, err := c.StdoutPipe()
	require.NoError(s.t, err)
	require.NoError(s.t, c.Start())
	r := &tape{t: s.t, parec: c, pipe: out, begun: make(chan struct{}), done: make(chan struct{})}
	go r.run(out)
	select {
	case <-r.begun:
	case <-time.After(time.Minute):
		s.t.Fatal("parec recorded nothing")
	}
	return r
}

func (r *tape) run(out io.Reader) {
	defer close(r.done)
	pair := make([]byte, 2)
	for n := 0; ; n++ {
		if _, err := io.ReadFull(out, pair); err != nil {
			return
		}
		if n == 0 {
			close(r.begun)
		}
		r.heard = append(r.heard, int16(binary.LittleEndian.Uint16(pair)))
	}
}

// stop ends the recording, once the last of it has come through.
func (r *tape) stop() []int16 {
	time.Sleep(200 * time.Millisecond)
	require.NoError(r.t, r.parec.Process.Signal(syscall.SIGINT))
	<-r.done
	r.parec.Wait()
	return r.heard
}

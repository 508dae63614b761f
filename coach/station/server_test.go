package station_test

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

// pulseServer runs a PulseAudio of our own with one null output, "room", and
// everything it keeps in a temporary folder. It gives a way to run clients.
func pulseServer(t testing.TB) (address string, client func(name string, arg ...string) *exec.Cmd) {
	t.Helper()
	program := peer(t, "pulseaudio")
	peer(t, "pactl")
	peer(t, "parec")
	dir, err := os.MkdirTemp("", "pulse") // a socket's path must be short
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	address = "unix:" + filepath.Join(dir, "native")
	client = func(name string, arg ...string) *exec.Cmd {
		c := exec.Command(name, arg...)
		c.Env = append(os.Environ(), "HOME="+dir, "XDG_RUNTIME_DIR="+dir, "PULSE_SERVER="+address,
			"PULSE_COOKIE="+filepath.Join(dir, "cookie"))
		return c
	}
	s := client(program, "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
		"--realtime=no", "--high-priority=no", "--log-level=error",
		"-L", "module-null-sink rate=48000 channels=1 sink_name=room",
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+filepath.Join(dir, "native"))
	require.NoError(t, s.Start())
	t.Cleanup(func() {
		s.Process.Kill()
		s.Wait()
	})
	require.Eventually(t, func() bool { return client("pactl", "info").Run() == nil },
		10*time.Second, 20*time.Millisecond, "the private PulseAudio does not answer")
	return address, client
}

// tape records what the output plays until stopped.
func tape(t testing.TB, client func(string, ...string) *exec.Cmd) (stop func() []int16) {
	t.Helper()
	c := client("parec", "--device=room.monitor", "--rate=48000", "--channels=1", "--format=s16le", "--latency-msec=5", "--raw")
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	var heard []int16
	begun, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		pair := make([]byte, 2)
		for n := 0; ; n++ {
			if _, err := io.ReadFull(out, pair); err != nil {
				return
			}
			if n == 0 {
				close(begun)
			}
			heard = append(heard, int16(binary.LittleEndian.Uint16(pair)))
		}
	}()
	select {
	case <-begun:
	case <-time.After(10 * time.Second):
		t.Fatal("parec recorded nothing")
	}
	return func() []int16 {
		time.Sleep(200 * time.Millisecond)
		require.NoError(t, c.Process.Signal(syscall.SIGINT))
		<-done
		c.Wait()
		return heard
	}
}

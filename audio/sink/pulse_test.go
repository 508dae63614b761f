package sink

import (
	"bytes"
	"encoding/binary"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// peer finds an outside program, or skips the test (fails it where peers are
// required).
func peer(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		absent(t, name+" is not installed")
	}
	return path
}

func absent(t testing.TB, why string) {
	t.Helper()
	if os.Getenv("EVENBELL_PEERS") == "required" {
		t.Fatal(why)
	}
	t.Skip(why)
}

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
	}, 10*time.Second, 20*time.Millisecond, "the private PulseAudio does not answer")
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

func TestPulseKeepsTheContract(t *testing.T) {
	contract(t, func(t *testing.T) bench {
		s := startServer(t, "room")
		p, err := NewPulse(s.address())
		require.NoError(t, err)
		// The null output renders a period ahead and does not take all of it back.
		return bench{sink: p, unplug: s.unplug, lag: Buffer}
	})
}

func TestPulseNoticesEveryWayToVanish(t *testing.T) {
	for name, vanish := range map[string]func(*server){
		"output removed": (*server).unplug,
		"another output is there to go to": func(s *server) {
			require.NoError(s.t, s.command("pactl", "load-module", "module-null-sink", "sink_name=other").Run())
			id, err := s.command("sh", "-c", "pactl list short modules | grep sink_name=room | cut -f1").Output()
			require.NoError(s.t, err)
			require.NoError(s.t, s.command("pactl", "unload-module", string(bytes.TrimSpace(id))).Run())
		},
		"output suspended": func(s *server) {
			require.NoError(s.t, s.command("pactl", "suspend-sink", "room", "1").Run())
		},
		"server hung":   (*server).halt,
		"server killed": func(s *server) { require.NoError(s.t, s.process.Process.Kill()) },
	} {
		t.Run(name, func(t *testing.T) {
			s := startServer(t, "room")
			p, err := NewPulse(s.address())
			require.NoError(t, err)
			for range 20 {
				require.NoError(t, p.Write(ramp(0, 480)))
			}
			vanish(s)
			begin := time.Now()
			for err == nil && time.Since(begin) < 5*time.Second {
				if err = p.Write(ramp(0, 480)); err == nil {
					_, err = p.Delay()
				}
			}
			took := time.Since(begin)
			require.ErrorIs(t, err, ErrGone)
			assert.Less(t, took, time.Second)
			t.Logf("noticed after %v: %v", took.Round(time.Millisecond), err)
			require.ErrorIs(t, p.Close(), ErrGone)
		})
	}
}

func TestPulseCountsRunningDry(t *testing.T) {
	s := startServer(t, "room")
	p, err := NewPulse(s.address())
	require.NoError(t, err)
	play := func() {
		for range 20 {
			require.NoError(t, p.Write(ramp(0, 480)))
		}
	}
	play()
	before := Underruns(p)
	time.Sleep(400 * time.Millisecond)
	play()
	assert.Eventually(t, func() bool { return Underruns(p) > before }, time.Second, time.Millisecond)
	_, err = p.Drop()
	require.NoError(t, err)
	before = Underruns(p)
	time.Sleep(200 * time.Millisecond)
	assert.Equal(t, before, Underruns(p), "silence after a drop is no underrun")
	require.NoError(t, p.Close())
}

func TestPulsePlaysEverySampleAndNothingThatWasDropped(t *testing.T) {
	s := startServer(t, "room")
	tape := s.record("room")
	p, err := NewPulse(s.address())
	require.NoError(t, err)
	// What is played first may be late on the tape: a monitor is given its
	// samples a little ahead of time, and keeps those that were taken back.
	require.NoError(t, p.Write(make([]int16, Rate/10)))
	for i := range 50 {
		require.NoError(t, p.Write(ramp(480*i, 480)))
	}
	n, err := p.Drop()
	require.NoError(t, err)
	kept := 480*50 - n
	require.NoError(t, p.Write(make([]int16, Rate/10)))
	require.NoError(t, p.Write(slices.Repeat([]int16{-77}, Rate/2)))
	require.NoError(t, p.Close())
	heard := tape.stop()
	if Underruns(p) > 0 {
		t.Skip("this machine was too busy to play without an underrun")
	}
	start := slices.Index(heard, 1)
	require.GreaterOrEqual(t, start, 0, "nothing was recorded")
	ran := 0
	for start+ran < len(heard) && heard[start+ran] == int16(ran+1) {
		ran++
	}
	assert.GreaterOrEqual(t, ran, kept, "a sample was lost")
	assert.LessOrEqual(t, ran, kept+Buffer/4, "dropped samples were played")
	assert.Equal(t, Rate/2, count(heard[start+ran:], -77), "what follows a drop is played whole")
	assert.Equal(t, ran, len(heard)-start-count(heard[start:], 0)-Rate/2, "and nothing else is")
}

func count(block []int16, value int16) (n int) {
	for _, v := range block {
		if v == value {
			n++
		}
	}
	return n
}

func TestOpenFindsPulse(t *testing.T) {
	if lib, err := loadALSA(); err == nil && lib.hasCard() {
		t.Skip("this machine has a sound card, which comes first")
	}
	s := startServer(t, "room")
	t.Setenv("PULSE_SERVER", s.address())
	sink, words, err := Open("auto", 1)
	require.NoError(t, err)
	assert.Contains(t, words, "PulseAudio output room (ALSA: ")
	assert.IsType(t, &Pulse{}, sink)
	require.NoError(t, sink.Close())

	t.Setenv("PULSE_SERVER", "unix:"+s.dir+"/nobody")
	sink, words, err = Open("auto", 1)
	require.NoError(t, err)
	assert.Contains(t, words, "no sound device: nothing will be heard (ALSA: ")
	assert.IsType(t, &Silent{}, sink)
	require.NoError(t, sink.Close())

	sink, _, err = Open("pulse", 1)
	assert.Nil(t, sink)
	require.ErrorContains(t, err, "connecting to PulseAudio")
}

func TestOpenDoesNotTakeADummyForASoundDevice(t *testing.T) {
	if lib, err := loadALSA(); err == nil && lib.hasCard() {
		t.Skip("this machine has a sound card, which comes first")
	}
	s := startServer(t, dummyOutput)
	t.Setenv("PULSE_SERVER", s.address())
	sink, words, err := Open("auto", 1)
	require.NoError(t, err)
	assert.IsType(t, &Silent{}, sink)
	assert.Contains(t, words, "nothing will be heard (ALSA: ")
	assert.Contains(t, words, "PulseAudio has nothing but its dummy output")
	require.NoError(t, sink.Close())

	sink, words, err = Open("pulse", 1)
	require.NoError(t, err, "asked for by name it is used, with the same warning")
	assert.Equal(t, "PulseAudio output auto_null, a dummy: nothing will be heard", words)
	require.NoError(t, sink.Close())
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
	case <-time.After(10 * time.Second):
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

// BenchmarkPulseDropToSilence plays a tone, drops it at an arbitrary moment,
// goes on with silence, and finds in a recording of the output how much of the
// tone came after the sample that was being heard when Drop was called. It
// also reports how long the call of Drop itself took.
func BenchmarkPulseDropToSilence(b *testing.B) {
	s := startServer(b, "room")
	var over, calls []float64
	for round := 0; b.Loop(); {
		for range 40 {
			o, c := dropToSilence(b, s, round)
			over, calls = append(over, o), append(calls, c)
			round++
		}
	}
	slices.Sort(over)
	slices.Sort(calls)
	b.ReportMetric(0, "ns/op") // says nothing here
	b.ReportMetric(over[len(over)/2], "median-ms")
	b.ReportMetric(over[len(over)-1], "worst-ms")
	b.ReportMetric(calls[len(calls)/2], "call-median-ms")
	b.ReportMetric(calls[len(calls)-1], "call-worst-ms")
	b.ReportMetric(float64(len(over)), "drops")
}

// dropToSilence gives both figures of one drop, in milliseconds.
func dropToSilence(b *testing.B, s *server, round int) (over, call float64) {
	tape := s.record("room")
	p, err := NewPulse(s.address())
	require.NoError(b, err)
	require.NoError(b, p.Write(make([]int16, Rate/10)))
	written := 0
	for i := range 30 + round%8 {
		require.NoError(b, p.Write(ramp(480*i, 480)))
		written += 480
	}
	time.Sleep(time.Duration(round%7) * time.Millisecond)
	delay, err := p.Delay()
	require.NoError(b, err)
	begin := time.Now()
	_, err = p.Drop()
	call = float64(time.Since(begin)) / float64(time.Millisecond)
	require.NoError(b, err)
	require.NoError(b, p.Write(make([]int16, Rate/5)))
	require.NoError(b, p.Close())
	heard := tape.stop()
	tone := len(heard) - count(heard, 0)
	return float64(tone-(written-delay)) / (Rate / 1000), call
}

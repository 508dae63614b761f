package station_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/station"
)

// BenchmarkRenderSession renders the demo's whole session on one core, clips
// decoded as they are needed: how many times faster than real time.
func BenchmarkRenderSession(b *testing.B) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	prog := demo(b)
	var samples int64
	for b.Loop() {
		_, sp := voice(b)
		stream(config(prog, sp), 4096, func(block []int16) { samples += int64(len(block)) })
	}
	b.ReportMetric(float64(samples)/48000/b.Elapsed().Seconds(), "x-real-time")
	b.ReportMetric(float64(samples)/48000/float64(b.N), "session-s")
}

// BenchmarkBlock renders blocks of 10 ms in the middle of sets, everything
// decoded: allocations per block.
func BenchmarkBlock(b *testing.B) {
	v, _ := voice(b)
	sp, err := v.AtOnce()
	require.NoError(b, err)
	cfg := config(demo(b), sp)
	cfg.Live = true
	block := make([]int16, 480)
	require.NoError(b, v.Prepare(cfg))
	v.KeepAll()
	p := player.New(cfg)
	for p.Pos() < 48000*60*6 {
		p.Mark()
		p.Render(block)
	}
	p.Take(player.All)
	b.ReportAllocs()
	for b.Loop() {
		p.Mark()
		p.Render(block)
		p.Take(p.Pos())
		if p.Over() {
			p = player.New(cfg)
		}
	}
}

// BenchmarkFirstSound opens the voice, prepares a live session and renders
// until something is to be heard.
func BenchmarkFirstSound(b *testing.B) {
	prog := demo(b)
	for b.Loop() {
		v, err := station.OpenVoice("en")
		require.NoError(b, err)
		sp, err := v.AtOnce()
		require.NoError(b, err)
		cfg := config(prog, sp)
		cfg.Live = true
		require.NoError(b, v.Prepare(cfg))
		p := player.New(cfg)
		block := make([]int16, 480)
		for p.Render(block); slices.Max(block) == 0; p.Render(block) {
			require.Less(b, p.Pos(), coach.Samples(48000))
		}
		b.StopTimer()
		v.Close()
		b.StartTimer()
	}
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms")
}

// BenchmarkMemory renders the whole demo in a process of its own and reports
// the most memory that ever held (VmHWM).
func BenchmarkMemory(b *testing.B) {
	if os.Getenv("EVENBELL_RENDER") != "" {
		_, sp := voice(b)
		stream(config(demo(b), sp), 4096, func([]int16) {})
		status, err := os.ReadFile("/proc/self/status")
		require.NoError(b, err)
		fmt.Printf("%s\n", regexp.MustCompile(`VmHWM:.*`).Find(status))
		return
	}
	if _, err := os.Stat("/proc/self/status"); err != nil {
		b.Skip("this system has no /proc/self/status")
	}
	peak := 0.0
	for b.Loop() {
		c := exec.Command(os.Args[0], "-test.run", "^$", "-test.bench", "^BenchmarkMemory$", "-test.benchtime", "1x")
		c.Env = append(os.Environ(), "EVENBELL_RENDER=1")
		out, err := c.Output()
		require.NoError(b, err)
		m := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(out)
		require.NotNil(b, m, string(out))
		kb, _ := strconv.ParseFloat(string(m[1]), 64)
		peak = max(peak, kb/1024)
	}
	b.ReportMetric(peak, "peak-MB")
}

// BenchmarkStop presses stop in a set, in real time: how long after the press
// the last sample over -60 dBFS was to be heard before the signal, on the
// silent sink and in a recording of a PulseAudio null output.
func BenchmarkStop(b *testing.B) {
	b.Run("silent", func(b *testing.B) {
		benchStop(b, func(cfg player.Config) float64 {
			p := play(b, func() (sink.Sink, error) { return sink.NewSilent(1), nil }, nil, cfg, inALift)
			// The silent clock plays what was not taken back as it is rendered.
			return sounded(p.pcm, p.stop()) + float64(p.stop()-p.at)/ms
		})
	})
	b.Run("pulse", func(b *testing.B) {
		address, client := pulseServer(b)
		out := &shared{}
		defer out.end()
		dice, dry := rand.New(rand.NewPCG(1, 1)), 0
		benchStop(b, func(cfg player.Config) float64 {
			for {
				// On the bells that open the rest, soon after a session has begun, at
				// any place in a block or a period of the device.
				at := moment{coach.CueRest, 1, 40*time.Millisecond + time.Duration(dice.IntN(200_000))*time.Microsecond}
				p := play(b, func() (sink.Sink, error) { return out.open(address) }, client, cfg, at)
				if p.stop() >= 0 && !p.lost {
					if signal := signalIn(b, p); signal >= 0 {
						return sounded(p.tape, signal-150*ms) + float64(p.stop()-p.at)/ms
					}
				}
				dry++ // this machine was too busy to play
				require.Less(b, dry, 50, "the output keeps going away or running dry")
			}
		})
	})
}

// shared is one output for many sessions, as the station has it.
type shared struct{ sink.Sink }

func (s *shared) open(address string) (sink.Sink, error) {
	if s.Sink != nil {
		if _, err := s.Sink.Drop(); err == nil {
			return s, nil
		}
		_ = s.Sink.Close()
	}
	var err error
	s.Sink, err = sink.NewPulse(address)
	return s, err
}

func (s *shared) Close() error { return nil }

func (s *shared) end() {
	if s.Sink != nil {
		_ = s.Sink.Close()
	}
}

// benchStop reports the middle and the worst of several stops.
func benchStop(b *testing.B, once func(player.Config) float64) {
	cfg := config(quick(b), muteVoice(b))
	var took []float64
	for b.Loop() {
		took = append(took, once(cfg))
		if len(took)%10 == 0 {
			fmt.Fprintf(os.Stderr, "%d stops, at worst %.1f ms\n", len(took), slices.Max(took))
		}
	}
	slices.Sort(took)
	b.ReportMetric(0, "ns/op") // says nothing here
	b.ReportMetric(took[len(took)/2], "median-ms")
	b.ReportMetric(took[len(took)-1], "worst-ms")
}

// sounded is how many milliseconds after a sample the sound went on, up to
// 140 ms.
func sounded(pcm []int16, at int) float64 {
	last := at
	for i := at; i < min(at+140*ms, len(pcm)); i++ {
		if math.Abs(float64(pcm[i])) > silence {
			last = i
		}
	}
	return float64(last-at) / ms
}

// signalIn finds the stop signal in a recording by its first 50 ms; below zero
// where it is not there whole.
func signalIn(b *testing.B, p played) int {
	pcm, h := stopped(config(quick(b), muteVoice(b)), coach.Samples(p.stop()), coach.Samples(p.stop()+48000))
	at := int(h.Cues[len(h.Cues)-1].At)
	require.Equal(b, coach.CueStop, h.Cues[len(h.Cues)-1].Kind)
	found := find(p.tape, pcm[at+10:at+50*ms])
	return found - 10
}

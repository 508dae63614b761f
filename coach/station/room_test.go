package station_test

import (
	"flag"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
	"evenbell/coach/station"
)

// A log that has failed keeps its database open on purpose, so that no later
// fsync glosses over the one that failed.
func TestMain(m *testing.M) {
	flag.Set("test.parallel", "4") // many wait more than they work; a flag given by hand comes after
	goleak.VerifyTestMain(m, goleak.IgnoreTopFunction("database/sql.(*DB).connectionOpener"))
}

// peer finds an outside program, or skips the test (fails it where peers are
// required).
func peer(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

// voice is the English voice, opened for one test.
func voice(t testing.TB) (*station.Voice, *player.Speaker) {
	t.Helper()
	v, err := station.OpenVoice("en")
	require.NoError(t, err)
	t.Cleanup(v.Close)
	sp, err := v.Patiently()
	require.NoError(t, err)
	return v, sp
}

// demo is the session of the demo plan: 37 minutes, ten exercises, voice and
// tones.
func demo(t testing.TB) coach.Programme {
	t.Helper()
	p, faults := plan.Read("demo.toml", plan.Demo(), protocol.Default())
	require.Empty(t, faults)
	prog, err := p.Resolve(p.Patients[0].Tag, p.Day)
	require.NoError(t, err)
	return prog
}

// short is the demo with two exercises (one of them side by side) and little
// around them: about three and a half minutes.
func short(t testing.TB) coach.Programme {
	p := demo(t)
	p.Items = []coach.Item{p.Items[1], p.Items[4]}
	for i := range p.Items {
		p.Items[i].Dose.Reps = 4
		p.Items[i].Pace.Rest = 30 * time.Second
	}
	p.WarmUp, p.CoolDown = 15*time.Second, 15*time.Second
	return p
}

// still is one exercise that stands still at the top and the bottom.
func still(t testing.TB) coach.Programme {
	p := short(t)
	p.Items = p.Items[:1]
	p.Items[0].Dose.Reps = 6
	p.Items[0].Pace.Top, p.Items[0].Pace.Bottom = 1500*time.Millisecond, time.Second
	return p
}

func config(p coach.Programme, sp *player.Speaker) player.Config {
	return player.Config{Programme: &p, Voice: sp, Patient: player.Willing}
}

// render plays a session offline in blocks of a size.
func render(t testing.TB, cfg player.Config, block int) ([]int16, player.Heard) {
	t.Helper()
	p := player.New(cfg)
	pcm := make([]int16, 0, 4<<20)
	buf := make([]int16, block)
	for !p.Over() {
		n := p.Render(buf)
		pcm = append(pcm, buf[:n]...)
	}
	require.Zero(t, p.Lost(), "sounds that found no room")
	return pcm, p.Take(player.All)
}

// whole is the demo rendered once for all tests that only listen to it.
var whole = struct {
	sync.Once
	pcm   []int16
	heard player.Heard
}{}

func wholeSession(t testing.TB) ([]int16, player.Heard) {
	t.Helper()
	whole.Do(func() {
		_, sp := voice(t)
		whole.pcm, whole.heard = render(t, config(demo(t), sp), 4096)
	})
	require.NotEmpty(t, whole.pcm, "the demo did not render")
	return whole.pcm, whole.heard
}

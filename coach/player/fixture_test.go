package player_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/script"
)

// hum is a voice pack whose every clip is half a second of one low note, loud
// enough to make the limiter work when the volume is pressed up. It has the
// lines of a script and no others.
type hum map[string]bool

const humLength = 24000

func (h hum) Length(id string) (int, bool) {
	if !h[id] {
		return 0, false
	}
	return humLength, true
}

var humming = func() []int16 {
	pcm := make([]int16, humLength)
	for i := range pcm {
		fade := min(1, float64(min(i, humLength-i))/500)
		pcm[i] = int16(18000 * fade * math.Sin(2*math.Pi*200*float64(i)/48000))
	}
	return pcm
}()

func voice(t testing.TB) *player.Speaker {
	t.Helper()
	sc, err := script.Load("en")
	require.NoError(t, err)
	return voiceOf(t, sc)
}

func voiceOf(t testing.TB, sc *script.Script) *player.Speaker {
	t.Helper()
	pack := hum{}
	for _, c := range sc.Clips() {
		pack[c.ID] = true
	}
	v, err := player.NewSpeaker(sc, pack, func(string) audio.Clip { return audio.NewClip(humming) })
	require.NoError(t, err)
	return v
}

// programme is two short exercises, one of them on each side, with a little
// warm-up before them.
func programme() *coach.Programme {
	item := func(id, stage string, sides coach.Sides, first coach.Phase) coach.Item {
		return coach.Item{Exercise: id, Dose: coach.Dose{Load: coach.Load{}, Reps: 3, Sets: 1, Stage: stage}, Sides: sides, First: first,
			Position: coach.Standing, Pace: coach.Pace{Lift: 2 * time.Second, Top: time.Second, Lower: 3 * time.Second,
				Bottom: 500 * time.Millisecond, Rest: 30 * time.Second, Settle: 5 * time.Second, CountIn: 3, BreathEvery: 2}}
	}
	return &coach.Programme{Day: "2026-03-02", Clinic: "Quayside Heart Health", Approved: true, Tag: "K4",
		Guide: coach.GuideBoth, Part: coach.Whole, WarmUp: 20 * time.Second, CoolDown: 20 * time.Second, SitBefore: time.Minute,
		Patience: coach.Patience{Repeat: 30 * time.Second, Look: 60 * time.Second, Abandon: 300 * time.Second},
		Items: []coach.Item{item("half-squat", "holding-on", coach.BothSides, coach.Lower),
			item("hamstring-curl", "seated", coach.EachSide, coach.Lift)}}
}

func config(t testing.TB) player.Config {
	return player.Config{Programme: programme(), Voice: voice(t), Patient: player.Willing}
}

// render plays a session offline in blocks of a size.
func render(cfg player.Config, block int) ([]int16, player.Heard) {
	p := player.New(cfg)
	var pcm []int16
	buf := make([]int16, block)
	for !p.Over() {
		n := p.Render(buf)
		pcm = append(pcm, buf[:n]...)
	}
	return pcm, p.Take(player.All)
}

// logged are the presses of a log, as they took effect.
func logged(es []coach.Entry) []coach.Press {
	var ps []coach.Press
	for _, e := range es {
		if d, ok := e.Data.(*coach.PressData); ok {
			ps = append(ps, coach.Press{Button: d.Button, At: d.At, Heard: d.Heard})
		}
	}
	return ps
}

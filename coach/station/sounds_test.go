package station_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/player"
)

// Every pacing sound has its fundamental between 300 and 1500 Hz, where older
// ears still hear (ISO 7029:2017 thresholds rise fast above).
func TestFundamentalsAreWhereOldEarsHear(t *testing.T) {
	t.Parallel()
	prog := still(t)
	prog.Guide = coach.GuideTones
	_, sp := voice(t)
	pcm, h := render(t, config(prog, sp), 4096)
	seen := map[coach.CueKind]float64{}
	for _, c := range h.Cues {
		if _, done := seen[c.Kind]; done || !c.Kind.Pacing() && c.Kind != coach.CueSetEnd && c.Kind != coach.CueDone {
			continue
		}
		switch c.Kind {
		case coach.CueBeat: // over a movement whose pitch is below 740 Hz; its own is above
			seen[c.Kind] = pitch(pcm, int(c.At)+15*ms, 1000, 1350)
		case coach.CueBreath: // in the stillness of the bottom, 370 Hz
			seen[c.Kind] = pitch(pcm, int(c.At)+200*ms, 100, 355)
		default:
			seen[c.Kind] = pitch(pcm, int(c.At)+30*ms, 100, 3000)
		}
	}
	for k, f := range seen {
		t.Logf("%-9s %4.0f Hz", k, f)
		assert.True(t, f >= 300 && f <= 1500, "%s sounds at %.0f Hz", k, f)
	}
	assert.GreaterOrEqual(t, len(seen), 9)
}

// The guide changes the sound and never the cues.
func TestGuidesChangeTheSoundNotTheCues(t *testing.T) {
	t.Parallel()
	_, sp := voice(t)
	var cues [][]coach.Cue
	var sound [][]int16
	var entries [][]coach.Entry
	for _, g := range []coach.Guide{coach.GuideTones, coach.GuideVoice, coach.GuideBoth} {
		p := short(t)
		p.Guide = g
		pcm, h := render(t, config(p, sp), 4096)
		cues, sound, entries = append(cues, h.Cues), append(sound, pcm), append(entries, h.Entries)
	}
	assert.Equal(t, cues[0], cues[1])
	assert.Equal(t, cues[0], cues[2])
	assert.Equal(t, entries[0], entries[2])
	tones, words, both := sound[0], sound[1], sound[2]
	verbs := 0
	for i, c := range cues[0] {
		if c.Kind != coach.CueLift && c.Kind != coach.CueLower {
			continue
		}
		// The last third of a movement: a word that opens it is over by then,
		// and only the next thing said ahead of a movement could be under way.
		a, b := int(c.At)+int(c.Length)*2/3, int(c.At)+int(c.Length)*2/3+200*ms
		quiet := !slices.ContainsFunc(cues[0][i+1:], func(n coach.Cue) bool {
			own := 430 * ms // of a breath, the longest
			if n.Kind == coach.CueBeat {
				own = 90 * ms
			}
			return int(n.At) < b && int(n.At)+max(own, int(sp.Length(n.Phrase))) > a
		}) && int(c.At)+int(sp.Length(c.Phrase)) < a-100*ms
		if !quiet {
			continue
		}
		verbs++
		assert.Zero(t, rms(words[a:b]), "voice has no movement tone")
		assert.Greater(t, rms(tones[a:b]), 100.0)
		assert.InDelta(t, rms(tones[a:b]), rms(both[a:b]), 1)
	}
	assert.Greater(t, verbs, 3)
	for _, c := range cues[0] {
		if c.Kind == coach.CueCountIn {
			// The bell of a beat is over after 220 ms; the number is said longer.
			a, b := int(c.At)+230*ms, int(c.At)+400*ms
			assert.Zero(t, rms(tones[a:b]), "tones has no speech in a set")
			assert.Greater(t, rms(words[a:b]), 50.0)
		}
	}
}

func rms(pcm []int16) float64 {
	sum := 0.0
	for _, v := range pcm {
		sum += float64(v) * float64(v)
	}
	return math.Sqrt(sum / float64(len(pcm)))
}

// A voice lowers the tones by 9 dB: what is left of both after the voice alone
// is taken away, against the tones alone, where a word is under way. Counted
// in the sound itself, so it needs the limiter at rest: the volume is low.
func TestVoiceDucksTheTones(t *testing.T) {
	t.Parallel()
	_, sp := voice(t)
	sound := func(g coach.Guide) ([]int16, []coach.Cue) {
		p := short(t)
		p.Guide = g
		cfg := config(p, sp)
		cfg.GainDB = -6
		pcm, h := render(t, cfg, 4096)
		return pcm, h.Cues
	}
	tones, cues := sound(coach.GuideTones)
	words, _ := sound(coach.GuideVoice)
	both, _ := sound(coach.GuideBoth)
	n := 0
	for _, c := range cues {
		if length := int(sp.Length(c.Phrase)); c.Kind == coach.CueLift && length > 300*ms {
			a, b := int(c.At)+60*ms, int(c.At)+200*ms // in the first clip
			left := make([]int16, b-a)
			for i := range left {
				left[i] = both[a+i] - words[a+i]
			}
			assert.InDelta(t, -9, 20*math.Log10(rms(left)/rms(tones[a:b])), 0.3, "lift at %d", c.At)
			n++
		}
	}
	assert.Greater(t, n, 5)
}

// sharpest is the most energy above about 12 kHz in any millisecond, in 16-bit
// steps: the root mean square of the eighth difference. A click, a step in the
// waveform, raises it at once; the tones, whose partials end at 6 kHz, hardly
// do.
func sharpest(pcm []int16) float64 {
	weights := [9]float64{1, -8, 28, -56, 70, -56, 28, -8, 1}
	worst, sum := 0.0, 0.0
	var past [ms]float64
	for i := 8; i < len(pcm); i++ {
		d := 0.0
		for k, w := range weights {
			d += w * float64(pcm[i-k])
		}
		sum += d*d - past[i%ms]
		past[i%ms] = d * d
		worst = max(worst, sum)
	}
	return math.Sqrt(worst / ms)
}

// Nothing clicks: around holds, stops, ends and answers at random samples there
// is no more sharpness than in the same sounds left alone, and the measure
// would see a step of 0.5 % of full scale.
func TestNothingClicks(t *testing.T) {
	t.Parallel()
	_, sp := voice(t)
	prog := short(t)
	prog.Guide, prog.Part = coach.GuideTones, coach.Middle // soon in a set
	cfg := config(prog, sp)
	pcm, h := render(t, cfg, 4096)
	first, last := sets(h.Cues)
	alone := sharpest(pcm[first:last])
	stepped := slices.Clone(pcm[first:last])
	for i := len(stepped) / 2; i < len(stepped); i++ {
		stepped[i] += 164
	}
	require.Greater(t, sharpest(stepped), 3*alone, "the measure sees a click")
	r := rand.New(rand.NewPCG(9, 10))
	worst := 0.0
	for range 10 {
		at := first + r.IntN(last-first)
		for _, b := range []coach.Button{coach.Hold, coach.Stop, coach.Minus} {
			c := cfg
			c.Presses = []coach.Press{{Button: b, At: coach.Samples(at)}}
			p := player.New(c)
			buf := make([]int16, at+100*ms)
			p.Render(buf)
			worst = max(worst, sharpest(buf[at-20*ms:at+100*ms]))
		}
	}
	t.Logf("sharpest millisecond: %.1f left alone, %.1f around 30 presses, %.1f with a step of 0.5 %%", alone, worst, sharpest(stepped))
	assert.LessOrEqual(t, worst, 1.5*alone)
}

// sets is from the first count-in to the end of the first set.
func sets(cues []coach.Cue) (first, last int) {
	for _, c := range cues {
		if c.Kind == coach.CueCountIn && first == 0 {
			first = int(c.At)
		}
		if c.Kind == coach.CueSetEnd {
			return first, int(c.At)
		}
	}
	return
}

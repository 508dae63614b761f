package station

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
)

// Any two stretches of a built-in programme that follow one another fit into
// what is held decoded, with room to spare: nothing is pushed out before it is
// heard. Next to each other, clips are equally loud within 1 LU.
func TestStretchesFitAndClipsMatch(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		for name, text := range map[string][]byte{"chair": plan.Demo(), "mat": plan.DemoMat()} {
			t.Run(lang+" "+name, func(t *testing.T) {
				v, err := OpenVoice(lang)
				require.NoError(t, err)
				defer v.Close()
				sp, err := v.Patiently()
				require.NoError(t, err)
				p, faults := plan.Read("demo.toml", text, protocol.Default())
				require.Empty(t, faults)
				prog, err := p.Resolve(p.Patients[0].Tag, p.Day)
				require.NoError(t, err)
				prog.Intro = true
				says := v.saysInOrder(player.Config{Programme: &prog, Voice: sp})
				s, firsts := newStretches(says, v.lines)
				require.Len(t, s.clips, 1+1+len(prog.Items)+1, "before the warm-up, the warm-up, the exercises, the cool-down")
				whole, kept, most := v.bytes(v.clipsOf(says...)), v.bytes(v.clipsOf(append(firsts, atAnyMoment...)...)), 0
				for i := range s.clips {
					most = max(most, v.bytes(append(slices.Clone(s.of(i)), s.of(i+1)...)))
				}
				furthest := v.unevenness(says)
				t.Logf("%.1f MB in all; %.1f MB are kept, and at most %.1f MB of %d held beside; neighbours differ by at most %.2f LU",
					float64(whole)/1e6, float64(kept)/1e6, float64(most)/1e6, ahead>>20, furthest)
				assert.Less(t, most, ahead*9/10)
				assert.Greater(t, most, 1<<20)
				assert.LessOrEqual(t, furthest, 1.0)
			})
		}
	}
}

func (v *Voice) clipsOf(ps ...coach.Phrase) (ids []string) {
	for _, p := range ps {
		ids = append(ids, v.lines(p)...)
	}
	return ids
}

// bytes is the memory of clips, each counted once.
func (v *Voice) bytes(ids []string) (n int) {
	slices.Sort(ids)
	for _, id := range slices.Compact(ids) {
		samples, _ := v.pack.Length(id)
		n += samples // half of them, two bytes each
	}
	return n
}

// unevenness is how far clips of one sentence are from each other in loudness.
func (v *Voice) unevenness(ps []coach.Phrase) (furthest float64) {
	for _, p := range ps {
		before := math.NaN()
		for _, id := range v.lines(p) {
			info, _ := v.pack.Info(id)
			if !math.IsNaN(before) {
				furthest = max(furthest, math.Abs(info.LUFS-before))
			}
			before = info.LUFS
		}
	}
	return furthest
}

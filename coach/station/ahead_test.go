package station

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
)

// Everything a session of a built-in programme says, with all that it may have
// to say, fits into what is kept decoded: nothing is pushed out before it is
// heard. Next to each other, clips are equally loud within 1 LU.
func TestAWholeSessionsClipsFitAndMatch(t *testing.T) {
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
				heard, _ := player.Dry(player.Config{Programme: &prog, Voice: sp, Patient: player.Willing})
				says := sometimes
				for _, c := range heard.Cues {
					says = append(says[:len(says):len(says)], c.Phrase)
				}
				seen, bytes, furthest := map[string]bool{}, 0, 0.0
				for _, ph := range says {
					before := math.NaN()
					for _, c := range v.script.Say(ph) {
						info, ok := v.pack.Info(c.ID)
						require.True(t, ok, c.ID)
						if n, _ := v.pack.Length(c.ID); !seen[c.ID] {
							seen[c.ID], bytes = true, bytes+n
						}
						if !math.IsNaN(before) {
							furthest = max(furthest, math.Abs(info.LUFS-before))
						}
						before = info.LUFS
					}
				}
				t.Logf("%d clips, %.1f MB decoded of %d; neighbours differ by at most %.2f LU", len(seen), float64(bytes)/1e6, ahead>>20, furthest)
				assert.Less(t, bytes, ahead)
				assert.Greater(t, bytes, 1<<20)
				assert.LessOrEqual(t, furthest, 1.0)
			})
		}
	}
}

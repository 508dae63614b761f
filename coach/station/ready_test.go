package station_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
)

// Once a session is prepared, a speaker that never waits has every clip of it:
// what the audio goroutine plays is what a patient render gives.
func TestAPreparedSessionLacksNoClip(t *testing.T) {
	t.Parallel()
	for name, text := range map[string][]byte{"chair": plan.Demo(), "mat": plan.DemoMat()} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, faults := plan.Read(name, text, protocol.Default())
			require.Empty(t, faults)
			prog, err := p.Resolve(p.Patients[0].Tag, p.Day)
			require.NoError(t, err)
			prog.WarmUp, prog.CoolDown = 60*time.Second, 60*time.Second // less to render, as much to say
			for i := range prog.Items {
				prog.Items[i].Dose.Reps = 3
				prog.Items[i].Pace.Rest = 30 * time.Second
			}
			v, patient := voice(t)
			want, _ := render(t, config(prog, patient), 4096)
			quick, err := v.AtOnce()
			require.NoError(t, err)
			require.NoError(t, v.Prepare(config(prog, quick)))
			require.Eventually(t, func() bool {
				got := player.New(config(prog, quick))
				block := make([]int16, 4096)
				for at := 0; !got.Over(); {
					n := got.Render(block)
					if !slices.Equal(block[:n], want[at:at+n]) {
						return false
					}
					at += n
				}
				return true
			}, patience, 50*time.Millisecond, "clips are missing")
		})
	}
}

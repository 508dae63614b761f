package simulated

import (
	"bytes"
	"math/rand/v2"
	"testing"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The two clinics the command prints too.
const (
	fine   = "0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10, 11, 12, 13, 14, 15, 16, 18, 20 kg"
	coarse = "0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15 kg"
)

func run(t testing.TB, owned string, n int, seed uint64) Report {
	o, err := dose.ParseOwned(owned)
	require.NoError(t, err)
	return Run(Standard(), protocol.Default(), o, n, rand.New(rand.NewPCG(seed, 2026)))
}

// A year of 500 patients: the rules reach the right load and never propose
// past what a person can do by more than one owned step.
func TestYearOf500(t *testing.T) {
	for name, owned := range map[string]string{"half kilograms": fine, "few dumbbells": coarse} {
		t.Run(name, func(t *testing.T) {
			rep := run(t, owned, 500, 1)
			require.Greater(t, len(rep.Patients), 490)
			assert.LessOrEqual(t, rep.Past(), 1)
			assert.GreaterOrEqual(t, rep.Within(1), 0.8, "in the right band or one owned load off it")
			assert.GreaterOrEqual(t, regular(rep).Within(1), 0.95, "of those who come regularly")
			assert.Less(t, rep.share(func(t Tally) bool { return t.Off > 0 }), 0.05, "too heavy")
			assert.Less(t, rep.Held(), protocol.Default().Int(protocol.UnchangedSessions))
		})
	}
}

func TestSameSeedSameYear(t *testing.T) {
	assert.Equal(t, run(t, coarse, 20, 7), run(t, coarse, 20, 7))
	assert.NotEqual(t, run(t, coarse, 20, 7), run(t, coarse, 20, 8))
}

func TestFiguresArePrinted(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, run(t, coarse, 20, 7).Write(&b))
	assert.Contains(t, b.String(), "most steps past the true limit")
}

// The model is what its comment says: 6 to 26 repetitions at 70 % of the
// maximum (Zourdos 2021).
func TestRepetitionsDifferAsMeasured(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	low, high := 1000.0, 0.0
	for range 5000 {
		p := newPerson(Standard(), r)
		reps := p.allows(coach.Dumbbell(int64(700*p.now), coach.Kilogram), p.now)
		low, high = min(low, reps), max(high, reps)
	}
	assert.InDelta(t, 6.4, low, 0.5)
	assert.InDelta(t, 25.7, high, 0.5)
}

func BenchmarkYearOfOnePatient(b *testing.B) {
	o, _ := dose.ParseOwned(fine)
	r := rand.New(rand.NewPCG(4, 4))
	for b.Loop() {
		year(Standard(), protocol.Default(), o, r)
	}
}

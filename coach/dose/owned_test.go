package dose

import (
	"testing"

	"evenbell/coach"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func owned(t testing.TB, s string) Owned {
	o, err := ParseOwned(s)
	require.NoError(t, err)
	return o
}

func load(t testing.TB, s string) coach.Load {
	l, err := coach.ParseLoad(s)
	require.NoError(t, err)
	return l
}

func TestParseOwned(t *testing.T) {
	o := owned(t, "2, 1,1.5, 2.0,5 kg; band 1,2, 3")
	assert.Equal(t, []coach.Load{load(t, "1 kg"), load(t, "1.5 kg"), load(t, "2 kg"), load(t, "5 kg")}, o.Loads(coach.DumbbellLoad))
	assert.Equal(t, []coach.Load{coach.Band(1), coach.Band(2), coach.Band(3)}, o.Loads(coach.BandLoad))
	assert.Empty(t, o.Loads(coach.BodyLoad))
	_, measured := o.resistance(coach.Band(2))
	assert.False(t, measured)

	o = owned(t, "2, 5 lb; bands 12, 18.5 N; 1 kg")
	assert.Equal(t, []coach.Load{load(t, "2 lb"), load(t, "1 kg"), load(t, "5 lb")}, o.Loads(coach.DumbbellLoad))
	force, measured := o.resistance(coach.Band(2))
	assert.True(t, measured)
	assert.Equal(t, int64(18500000), force)

	for _, bad := range []string{"", "1, 2", "kg", "1,,2 kg", "0 kg", "-1 kg", "nan kg", "1e3 kg", "band 0", "band 2, 2", "band 12, 10 N", "band x", "1 stone"} {
		_, err := ParseOwned(bad)
		assert.Error(t, err, "%q", bad)
	}
}

// 1 lb is 0.45359237 kg exactly (UCUM [lb_av]).
func TestPoundIsExact(t *testing.T) {
	assert.Equal(t, int64(45359237*1000), mass(load(t, "1 lb")))
	assert.Equal(t, 453.59237, load(t, "1 lb").Grams())
	assert.Negative(t, compareLoads(load(t, "2.2 lb"), load(t, "1 kg")))
	assert.Positive(t, compareLoads(load(t, "2.205 lb"), load(t, "1 kg")))
}

// By hand: 3 kg ten times with two left is a 12RM; at 11 the lowest of seven
// is Lombardi's 3·11^0.1 = 3.81296 kg.
func TestStartFromTrial(t *testing.T) {
	p := protocol.Default()
	o := owned(t, "0.5, 1, 1.5, 2, 3 kg")

	s, err := StartFromTrial(p, o, coach.UpperBody, load(t, "3 kg"), 10, 2)
	require.NoError(t, err)
	assert.InDelta(t, 1143.9, s.Grams.Low, 0.1, "30 %")
	assert.InDelta(t, 1525.2, s.Grams.High, 0.1, "40 %")
	assert.Equal(t, "1.5 kg", s.Load.String())
	assert.False(t, s.Below)

	s, err = StartFromTrial(p, o, coach.LowerBody, load(t, "3 kg"), 10, 2)
	require.NoError(t, err)
	assert.Equal(t, "2 kg", s.Load.String(), "50 to 60 %: 1.91 to 2.29 kg")

	trunk, err := StartFromTrial(p, o, coach.Trunk, load(t, "3 kg"), 10, 2)
	require.NoError(t, err)
	assert.Equal(t, "1.5 kg", trunk.Load.String(), "the trunk takes the lighter band")

	s, err = StartFromTrial(p, owned(t, "1, 2 kg"), coach.UpperBody, load(t, "3 kg"), 10, 2)
	require.NoError(t, err)
	assert.Equal(t, "1 kg", s.Load.String())
	assert.True(t, s.Below)

	_, err = StartFromTrial(p, owned(t, "2, 3 kg"), coach.UpperBody, load(t, "3 kg"), 10, 2)
	assert.ErrorContains(t, err, "nothing owned is as light as 1.53 kg")
	_, err = StartFromTrial(p, o, coach.UpperBody, coach.Band(1), 10, 2)
	assert.ErrorContains(t, err, "use a dumbbell")
}

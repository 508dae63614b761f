package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/station"
)

const plainConfig = "format = \"station/1\"\nname = \"Bay 3\"\ndata = \"/d\"\nplan = \"p.toml\"\n"

const noBox = "[buttons]\nkind = \"keys\"\n"

func TestLevelsOfTheClinic(t *testing.T) {
	c, faults := station.ReadConfig("station.toml", []byte(plainConfig+noBox))
	require.Empty(t, coach.Errors(faults))
	assert.Equal(t, 1, c.Register)
	assert.Nil(t, c.Ceiling.At(time.Now()))

	c, faults = station.ReadConfig("station.toml", []byte(plainConfig+
		"register = 4\nvolume_ceiling_db = 3\nquiet_from = \"21:30\"\nquiet_until = \"07:00\"\nquiet_ceiling_db = -6\n"+noBox))
	require.Empty(t, coach.Errors(faults))
	assert.Equal(t, 4, c.Register)
	for at, want := range map[string]float64{"07:00": 3, "12:00": 3, "21:29": 3, "21:30": -6, "23:59": -6, "00:00": -6, "06:59": -6} {
		local, err := time.Parse("15:04", at)
		require.NoError(t, err)
		require.NotNil(t, c.Ceiling.At(local), at)
		assert.Equal(t, want, *c.Ceiling.At(local), at)
	}
	c.Ceiling.From, c.Ceiling.Until = c.Ceiling.Until, c.Ceiling.From
	noon, err := time.Parse("15:04", "12:00")
	require.NoError(t, err)
	assert.Equal(t, -6.0, *c.Ceiling.At(noon), "quiet hours within one day")
	*c.Ceiling.DB = -12
	assert.Equal(t, -12.0, *c.Ceiling.At(noon), "quiet hours are never louder")
}

func TestFaultyLevelsAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"register = 0\n":            "register: is 0; from 1 to 4",
		"register = 5\n":            "register: is 5; from 1 to 4",
		"volume_db = 13\n":          "volume_db: is 13; from -40 to 12",
		"volume_ceiling_db = -19\n": "volume_ceiling_db: is -19; from -18 to 12",
		"quiet_from = \"22:00\"\n":  "quiet_ceiling_db: quiet_from, quiet_until and quiet_ceiling_db belong together",
		"quiet_from = \"25:00\"\n":  `quiet_from: "25:00" is no time of day`,
		"quiet_ceiling_db = -3\n":   "quiet_ceiling_db: quiet_from, quiet_until and quiet_ceiling_db belong together",
		"quiet_from = \"09:00\"\nquiet_until = \"09:00\"\nquiet_ceiling_db = -3\n": "quiet_until: is the same as quiet_from",
	} {
		c, faults := station.ReadConfig("station.toml", []byte(plainConfig+text+noBox))
		assert.Nil(t, c, text)
		said := ""
		for _, f := range coach.Errors(faults) {
			said += f.String() + "\n"
		}
		assert.Contains(t, said, want)
	}
}

package desk_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPlanTakenBackFromAStation(t *testing.T) {
	c, bay, _ := loaded(t)
	require.NotZero(t, bay.state().Plan)
	_, err := c.Empty(ctx, adair, "Bay 3", "2026-03-02")
	require.Error(t, err)
	_, err = c.Empty(ctx, lind, "Bay 3", "2026-03-03")
	refused(t, err, "has no plan for 2026-03-03")
	_, err = c.Empty(ctx, lind, "Bay 3", "2026-03-02")
	require.NoError(t, err)
	assert.Zero(t, bay.state().Plan)
	assert.Empty(t, bay.state().PlanHash)
	assert.Nil(t, c.seat("Bay 3").Plan)
	day, err := c.Day(ctx, lind, "2026-03-02")
	require.NoError(t, err)
	assert.Empty(t, day.Comers[0].Stations)
	_, err = c.Empty(ctx, lind, "Bay 3", "2026-03-02")
	refused(t, err, "has no plan")
	sp, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Equal(t, sp.Version, bay.state().Plan)
}

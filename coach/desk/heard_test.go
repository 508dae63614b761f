package desk_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/link"
)

// A home station without network stopped; its desk knows of it by telephone
// alone.
func TestHeldForWhatWasToldByTelephone(t *testing.T) {
	c := newClinic(t)
	home := c.enrolled("Home of K4")
	_, err := c.store.EnsureTag(ctx, "K4")
	require.NoError(t, err)
	h, err := c.HoldPatient(ctx, lind, "K4", "Home of K4", "rang: tight chest in the second exercise")
	require.NoError(t, err)
	assert.Equal(t, "K4", home.state().Holds[0].Tag, "should the network come back")
	needs := c.needs()
	require.Len(t, needs, 1)
	assert.False(t, needs[0].Loud, "who wrote it down knows of it")
	assert.Equal(t, "M. Lind", needs[0].AcknowledgedBy)
	presses, err := c.TelephoneCode(ctx, okafor, h.ID, "Home of K4", "spoke to them; seen by the doctor")
	require.NoError(t, err)
	st, err := c.store.StationByName(ctx, "Home of K4")
	require.NoError(t, err)
	want := link.TelephoneCode(st.Secret, "K4", 1)
	assert.Equal(t, want[:], presses)
	assert.Empty(t, home.state().Holds)

	_, err = c.HoldPatient(ctx, lind, "K4", "", "")
	assert.ErrorAs(t, err, new(desk.Refusal))
	_, err = c.HoldPatient(ctx, lind, "X9", "", "rang")
	assert.ErrorIs(t, err, desk.ErrNotFound)
	_, err = c.HoldPatient(ctx, lind, "K4", "No such bay", "rang")
	assert.ErrorIs(t, err, desk.ErrNotFound)
}

package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// What the approver was shown is kept as it was shown.
func TestWhatTheApproverSawIsKept(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	rx, checked, err := c.Draft(ctx, lind, "K4", planText("K4", "2026-03-02", curl+heel))
	require.NoError(t, err)
	require.NotNil(t, checked.Plan)
	rx, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	assert.Equal(t, 6*time.Minute+30*time.Second, rx.Seen.Expected)
	var warned []string
	for _, f := range checked.Faults {
		warned = append(warned, f.String())
	}
	assert.Equal(t, warned, rx.Seen.Warnings)
	again, err := c.store.Prescription(ctx, rx.ID)
	require.NoError(t, err)
	assert.Equal(t, rx, again)
	assert.ErrorIs(t, c.store.SetSeen(ctx, rx.ID, store.Seen{}), store.ErrState, "not afterwards")
}

package desk_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// A later epoch that comes before the end of the one before it is told, and
// closes itself once the end is there.
func TestWhatWasMissingAndCameAfterAll(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	bay.upload()
	bay.start()
	bay.add(coach.Entry{Kind: coach.EntryPause})
	late := bay.log
	bay.log = nil
	bay.start()
	bay.upload()
	require.Len(t, c.needs(), 1)
	assert.Equal(t, store.LogDamaged, c.needs()[0].Reason)
	bay.log = late
	bay.upload()
	running, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- c.Run(running) }()
	require.Eventually(t, func() bool { return len(c.needs()) == 0 }, 30*time.Second, 10*time.Millisecond)
	stop()
	require.NoError(t, <-done)
}

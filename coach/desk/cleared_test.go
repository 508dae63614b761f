package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// A home station without network: a stop, a code told over the telephone, and
// weeks later the log of both. What came after the code holds.
func TestAStopThatWasClearedByTelephoneComesLate(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{Call: "heron"})
	home, other := c.enrolled("Home of K4"), c.enrolled("Bay 4")
	stop := coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"}
	home.add(stop)
	c.pass(time.Hour)
	home.add(coach.Entry{Kind: coach.EntryClear, Tag: "K4", Data: &coach.ClearData{By: coach.ByTelephone, Counter: 1}})
	c.pass(21 * 24 * time.Hour)
	home.upload()
	require.Len(t, c.needs(), 1, "the stop is shown, late as it is")
	assert.Empty(t, home.state().Holds)
	assert.Empty(t, other.state().Holds)

	home.add(stop)
	home.upload()
	require.Len(t, other.state().Holds, 1, "another stop holds again")
	other.add(coach.Entry{Kind: coach.EntryClear, Tag: "K4", Data: &coach.ClearData{By: coach.ByTelephone, Counter: 1}})
	other.upload()
	assert.Len(t, other.state().Holds, 1, "a code for one station ends nothing of another's")
	home.start()
	home.add(coach.Entry{Kind: coach.EntryClear, Tag: "K4", Data: &coach.ClearData{By: "somebody", Counter: 0}})
	home.upload()
	assert.Len(t, other.state().Holds, 1, "what the desk itself said, told back, ends nothing")
}

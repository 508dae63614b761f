package web

import (
	"math/rand/v2"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	invented "evenbell/coach/desk/clinic"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// quickSpeech takes a second to say anything.
type quickSpeech struct{}

func (quickSpeech) Length(p coach.Phrase) coach.Samples {
	if p == (coach.Phrase{}) {
		return 0
	}
	return coach.Samples(coach.SessionRate)
}

// pastDay is the day that the invented weeks lead up to, a Wednesday.
const pastDay coach.Day = "2026-03-04"

// newPast is a clinic with twelve weeks behind it: a dozen people who went
// through real sessions, whose logs came over the desk's end of the link, and
// whose proposals were decided and approved by the desk's own rules.
func newPast(t *testing.T) *clinic {
	t.Helper()
	c := &clinic{t: t, peers: map[string]link.Peer{}}
	var err error
	c.store, err = store.Open(t.Context(), t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.store.Close() })
	clock := &invented.Clock{}
	clock.Set(pastDay.AddDays(-100).Time())
	c.desk = desk.New(desk.Config{Alone: true, Store: c.store, Now: clock.Now, Length: lengths, Recorder: lineRecorder{}})
	c.link = c.desk.Link()
	for role, name := range staffed {
		_, err := c.desk.AddStaff(t.Context(), desk.AtConsole("test"), name, role, password)
		require.NoError(t, err)
	}
	zone, err := time.LoadLocation(invented.Zone)
	require.NoError(t, err)
	p := &invented.Past{Desk: c.desk, Link: c.link, Clock: clock, Speech: quickSpeech{}, Today: pastDay, Zone: zone,
		Start: coach.SessionStartData{Voice: "invented", Program: "invented"}, Rand: rand.New(rand.NewPCG(7, 7)),
		Supervisor: c.as(store.Supervisor), Assistant: c.as(store.Assistant), Admin: c.as(store.Admin)}
	require.NoError(t, p.Make(t.Context()))
	clock.Set(time.Date(2026, 3, 4, 8, 0, 0, 0, zone))
	c.site, err = New(Options{Desk: c.desk, Plain: true})
	require.NoError(t, err)
	c.server = httptest.NewServer(c.site)
	t.Cleanup(c.server.Close)
	return c
}

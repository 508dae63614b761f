package session_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

func atHome(h coach.Home) *coach.Programme {
	p := programme(item("row"))
	h.Telephone, h.Emergency = "020 912 0456", "Ring Astrid."
	p.Home = &h
	return p
}

// said are the phrases of a run from a sample on, pacing left out.
func (r *run) said(from coach.Samples) (ids []coach.PhraseID) {
	for _, c := range r.out.Cues {
		if c.At >= from && c.Phrase.ID != "" && !c.PacesSet() {
			ids = append(ids, c.Phrase.ID)
		}
	}
	return ids
}

func TestASessionAtHomeIsWordedForHome(t *testing.T) {
	r := begin(t, atHome(coach.Home{}))
	r.well("")
	assert.Equal(t, coach.Completed, r.Outcome())
	for _, c := range r.out.Cues {
		assert.Equal(t, c.Phrase.ID != "", c.Phrase.AtHome, "%+v", c)
	}
	assert.Empty(t, r.says(coach.SayAlone))
	assert.Contains(t, r.story(), "question telephone well")

	r = begin(t, atHome(coach.Home{Alone: true}))
	r.until(coach.QuestionWell)
	assert.Equal(t, []coach.PhraseID{coach.SayWelcome, coach.SayAlone, coach.AskWell, coach.HintYesNo}, r.said(0))

	r = begin(t, programme(item("row")))
	r.well("")
	for _, c := range r.out.Cues {
		assert.False(t, c.Phrase.AtHome)
	}
	assert.NotContains(t, r.story(), "question telephone well")
}

// Without a telephone within reach nothing begins: it is fetched, and the
// question comes again, by a tap or by itself.
func TestTheTelephoneIsFetched(t *testing.T) {
	r := begin(t, atHome(coach.Home{}))
	r.well(coach.QuestionTelephone)
	r.press(coach.Minus)
	r.wait(1)
	assert.Empty(t, r.Waiting().For, "nobody is called while it is fetched")
	r.press(coach.Plus) // nothing is asked
	r.wait(30)
	r.press(coach.Tap)
	r.until(coach.QuestionTelephone)
	r.press(coach.Minus)
	r.wait(100)
	assert.Empty(t, r.Waiting().For)
	r.wait(25)
	r.until(coach.QuestionTelephone)
	assert.False(t, r.NeedsLook())
	r.press(coach.Plus)
	r.well("")
	assert.Equal(t, coach.Completed, r.Outcome())
	var answers []string
	for _, e := range r.out.Entries {
		if d, ok := e.Data.(*coach.QuestionData); ok && d.ID == coach.QuestionTelephone {
			answers = append(answers, d.Answer)
			assert.False(t, d.Unwell())
		}
	}
	assert.Equal(t, []string{coach.AnswerNotWell, coach.AnswerNotWell, coach.AnswerWell}, answers)
	assert.Len(t, r.says(coach.SayFetch), 2)
}

// A stop at home is as fast as anywhere, and what to do comes first.
func TestAStopAtHome(t *testing.T) {
	for _, home := range []bool{true, false} {
		p := programme(item("row"))
		if home {
			p = atHome(coach.Home{})
		}
		r := begin(t, p)
		r.intoSet(7)
		at := r.Pos()
		r.press(coach.Stop)
		r.until(coach.QuestionSymptom)
		stop := r.cues(coach.CueStop)
		require.Len(t, stop, 1)
		assert.Equal(t, at+sec(0.150), stop[0].At)
		says := r.says(coach.SayStop)
		require.Len(t, says, 1)
		assert.Equal(t, stop[0].At+coach.SessionRate.At(session.StopSignal), says[0].At)
		after := r.said(at)
		want := []coach.PhraseID{coach.SayStop, coach.AskSymptom}
		if home {
			want = []coach.PhraseID{coach.SayStop, coach.SayEmergency, coach.SayRing, coach.AskSymptom}
			assert.Equal(t, "Ring Astrid.", r.says(coach.SayEmergency)[0].Phrase.Name)
			assert.Equal(t, "020 912 0456", r.says(coach.SayRing)[0].Phrase.Name)
		}
		assert.Equal(t, want, after[:len(want)])
		for _, c := range r.out.Cues {
			if c.At > at {
				assert.False(t, c.Kind.Pacing(), "%+v", c)
			}
		}
		end := r.Pos()
		r.press(coach.Tap)
		r.well("")
		want = []coach.PhraseID{coach.SayStopNoted}
		if home {
			want = append(want, coach.SayRing)
		}
		assert.Equal(t, want, r.said(end))
		assert.Equal(t, coach.Stopped, r.Outcome())
	}
}

func TestNotWellAtHome(t *testing.T) {
	help := []coach.PhraseID{coach.SayIfWorse, coach.SayRing}
	r := begin(t, atHome(coach.Home{}))
	r.until(coach.QuestionWell)
	from := r.Pos()
	r.press(coach.Minus)
	r.well("")
	assert.Equal(t, append([]coach.PhraseID{coach.SayNotWell}, help...), r.said(from))
	assert.Equal(t, coach.NotStarted, r.Outcome())

	r = begin(t, atHome(coach.Home{}))
	r.well(coach.QuestionClosing)
	from = r.Pos()
	r.press(coach.Minus)
	r.well("")
	assert.Equal(t, append([]coach.PhraseID{coach.SayClosingNo}, help...), r.said(from))

	r = begin(t, atHome(coach.Home{}))
	r.intoSet(7)
	r.press(coach.Stop)
	from = r.Pos()
	r.wait(900)
	assert.True(t, slices.Contains(r.said(from), coach.SayPlaceLocked))
	assert.Equal(t, coach.SayRing, r.said(from)[len(r.said(from))-1])
}

func guestAtHome(n *session.NotToday) session.Guest {
	it := item("row")
	return session.Guest{Tag: "K4", Name: "heron", First: &it, Home: &coach.Home{Telephone: "112"}, NotToday: n}
}

func inLobby(t *testing.T, l *session.Lobby) *run {
	l.Patience = coach.Patience{Repeat: 30 * time.Second, Look: 60 * time.Second, Abandon: 300 * time.Second}
	return &run{t: t, Session: session.NewLobby(l, speech{})}
}

func TestALobbySaysWhyNotToday(t *testing.T) {
	for _, c := range []struct {
		not  session.NotToday
		says []coach.PhraseID
	}{
		{session.NotToday{Reason: coach.RefusedRest, Next: "2026-03-05", In: 2}, []coach.PhraseID{coach.SayNotToday, coach.SayNextSession}},
		{session.NotToday{Reason: coach.RefusedDone, Last: true}, []coach.PhraseID{coach.SayNotToday, coach.SayNotToday, coach.SayRing}},
		{session.NotToday{Reason: coach.RefusedEnded, Next: "2026-03-04", In: 1}, []coach.PhraseID{coach.SayNotToday, coach.SayNextSession, coach.SayRing}},
		{session.NotToday{Reason: coach.RefusedOver, Last: true}, []coach.PhraseID{coach.SayNotToday, coach.SayRing}},
	} {
		g := guestAtHome(&c.not)
		r := inLobby(t, &session.Lobby{Tapped: true, Guests: []session.Guest{g}, Home: g.Home})
		r.wait(60)
		assert.Equal(t, c.says, r.said(0), "%+v", c.not)
		require.Len(t, r.out.Entries, 1+len(c.says))
		e := r.out.Entries[0]
		assert.Equal(t, "K4", e.Tag)
		assert.Equal(t, &coach.RefusedData{Reason: c.not.Reason, Next: c.not.Next}, e.Data)
		_, chosen := r.Chosen()
		assert.False(t, chosen || r.Done())

		r = inLobby(t, &session.Lobby{Waking: true, Guests: []session.Guest{g}, Home: g.Home})
		r.wait(60)
		assert.Equal(t, c.says, r.said(0), "it does not say that it is ready")
	}
	assert.Equal(t, "thursday", (&session.Guest{Home: &coach.Home{}, NotToday: &session.NotToday{Next: "2026-03-05", In: 2}}).Says()[1].Name)
}

// Where no clock tells, the person does: yes begins the session, no is rest.
func TestALobbyAsksWhetherTheDaysWereKept(t *testing.T) {
	for answer, chosen := range map[coach.Button]bool{coach.Plus: true, coach.Minus: false} {
		g := guestAtHome(nil)
		g.AsksRested = true
		r := inLobby(t, &session.Lobby{Tapped: true, Guests: []session.Guest{g}, Home: g.Home})
		r.until(coach.QuestionRested)
		r.press(answer)
		_, got := r.Chosen()
		assert.Equal(t, chosen, got)
		var logged []coach.EntryKind
		for _, e := range r.out.Entries {
			if e.Kind == coach.EntryQuestion || e.Kind == coach.EntryRefused {
				assert.Equal(t, "K4", e.Tag)
				logged = append(logged, e.Kind)
			}
		}
		assert.Equal(t, !chosen, slices.Contains(logged, coach.EntryRefused))
		assert.Contains(t, logged, coach.EntryQuestion)
	}
}

// The red button works at home between sessions, too, also on a locked box, and
// says what it says in a session.
func TestAStopBetweenSessionsAtHome(t *testing.T) {
	h := coach.Home{Telephone: "112", Emergency: "Ring Astrid."}
	for _, locked := range []bool{false, true} {
		r := inLobby(t, &session.Lobby{Guests: []session.Guest{guestAtHome(nil)}, Home: &h, Locked: locked})
		r.wait(30)
		from := r.Pos()
		r.press(coach.Stop)
		r.wait(15)
		assert.Equal(t, []coach.PhraseID{coach.SayStop, coach.SayEmergency, coach.SayRing}, r.said(from))
		if locked {
			assert.Equal(t, []coach.PhraseID{coach.SayPlaceLocked, coach.SayRing}, r.said(0)[:2])
		}
	}
}

package web

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
)

// waiting is a patient with proposals of both kinds that nobody answered.
func (c *clinic) waiting() (string, []desk.Pending) {
	people, err := c.store.Patients(c.t.Context(), store.PatientFilter{})
	require.NoError(c.t, err)
	for _, p := range people {
		got, err := c.desk.Review(c.t.Context(), c.as(store.Supervisor), p.Tag, "", "")
		require.NoError(c.t, err)
		holds, steps := 0, 0
		for _, one := range got.Proposals {
			switch {
			case one.Decision != nil:
			case one.Proposal.Action == dose.Hold:
				holds++
			default:
				steps++
			}
		}
		if holds > 0 && steps > 2 {
			return p.Tag, got.Proposals
		}
	}
	require.Fail(c.t, "nobody has proposals of both kinds")
	return "", nil
}

// The way through a review: what stays is approved at once, each step by
// itself, a mistake is undone, and the next plan carries what was decided.
func (c *clinic) aReview(t *testing.T) {
	c = c.on(t)
	b := c.browser(store.Supervisor)
	tag, all := c.waiting()
	assert.Contains(t, b.get("/review").body, "/review/"+tag)
	page := b.get("/review/" + tag).body
	assert.Contains(t, page, "as they are")
	var steps []int
	for n, one := range all {
		if one.Decision == nil && one.Proposal.Action != dose.Hold {
			steps = append(steps, n)
		}
	}
	answer := func(n int, kind string, more ...string) answer {
		return b.post("/review/"+tag+"/decide", append([]string{"n", fmt.Sprint(n), "exercise", all[n].Proposal.Exercise, "seen", all[n].Told, "answer", kind}, more...)...)
	}
	at := func(n int, key string) string { return fmt.Sprintf("p%d.%s", n, key) }

	// Nothing is declined or changed without a reason, and what was typed stays.
	a := answer(steps[0], "declined", at(steps[0], "declined-why"), "")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "Say why")
	a = answer(steps[1], "changed", at(steps[1], "load"), "999 kg", at(steps[1], "reps"), "10", at(steps[1], "sets"), "1", at(steps[1], "stage"), all[steps[1]].Proposal.To.Stage, at(steps[1], "changed-why"), evil)
	require.Equal(t, http.StatusUnprocessableEntity, a.status, a.body)
	assert.Contains(t, a.body, `value="999 kg"`)
	seeAsText(t, a)
	// What the desk has not proposed any more is not accepted.
	a = b.post("/review/"+tag+"/decide", "n", "0", "exercise", all[steps[0]].Proposal.Exercise, "seen", "an older session", "answer", "accepted")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)

	require.Equal(t, http.StatusSeeOther, b.post("/review/"+tag+"/holds").status)
	require.Equal(t, http.StatusSeeOther, answer(steps[0], "accepted").status)
	require.Equal(t, http.StatusSeeOther, answer(steps[1], "declined", at(steps[1], "declined-why"), "shoulder tired").status)
	undo := answer(steps[2], "accepted")
	require.Equal(t, http.StatusSeeOther, undo.status, undo.body)
	page = b.get("/review/" + tag).body
	assert.Contains(t, page, "shoulder tired")
	id := regexp.MustCompile(`name="decision" value="(\d+)"`).FindAllStringSubmatch(page, -1)
	require.NotEmpty(t, id)
	assert.Contains(t, page, "Undo")
	decided := c.decisionOn(tag, all[steps[2]].Proposal.Exercise)
	require.Equal(t, http.StatusSeeOther, b.post("/review/"+tag+"/undo", "decision", itoa(decided.ID)).status)
	assert.True(t, c.decisionOn(tag, all[steps[2]].Proposal.Exercise).Undone)
	require.Equal(t, http.StatusSeeOther, answer(steps[2], "accepted").status)

	c.nextPlanCarries(b, tag, all[steps[0]].Proposal)
}

func (c *clinic) decisionOn(tag, exercise string) store.Decision {
	p, err := c.store.PatientByTag(c.t.Context(), tag)
	require.NoError(c.t, err)
	all, err := c.store.DecisionsOf(c.t.Context(), p.ID)
	require.NoError(c.t, err)
	for _, d := range all {
		if d.Exercise == exercise {
			return d
		}
	}
	require.Fail(c.t, "nobody decided on "+exercise)
	return store.Decision{}
}

func (c *clinic) nextPlanCarries(b *browser, tag string, accepted dose.Proposal) {
	c.t.Helper()
	next := b.post("/review/" + tag + "/next")
	require.Equal(c.t, http.StatusSeeOther, next.status, next.body)
	require.True(c.t, strings.HasPrefix(next.to, "/plans/"), next.to)
	page := b.get(next.to).body
	assert.Contains(c.t, page, "Since version")
	ask := b.get(next.to + "/approve")
	require.Equal(c.t, http.StatusOK, ask.status, ask.body)
	done := b.post(next.to+"/approve", "seen", filled(c.t, ask.body).Get("seen"), "read", "yes")
	require.Equal(c.t, http.StatusSeeOther, done.status, done.body)
	p, err := c.desk.View(c.t.Context(), c.as(store.Supervisor), tag)
	require.NoError(c.t, err)
	require.NotNil(c.t, p.InForce)
	_, checked, err := c.desk.Prescription(c.t.Context(), c.as(store.Supervisor), p.InForce.ID)
	require.NoError(c.t, err)
	for _, it := range checked.Plan.Patients[0].Items {
		if it.Exercise == accepted.Exercise {
			assert.Equal(c.t, accepted.To, it.Dose)
			return
		}
	}
	assert.Fail(c.t, "the next plan lost "+accepted.Exercise)
}

package web

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// need is the one attention that is open.
func (c *clinic) need() store.Attention {
	c.t.Helper()
	open, err := c.store.OpenAttentions(c.t.Context())
	require.NoError(c.t, err)
	require.Len(c.t, open, 1)
	return open[0]
}

func TestAStopIsSeenGoneToClosedAndCleared(t *testing.T) {
	c := newClinic(t)
	c.stop("Bay 1", "K4")
	assistant, supervisor := c.browser(store.Assistant), c.browser(store.Supervisor)
	id := c.need().ID
	at := fmt.Sprintf("/attentions/%d", id)

	_, err := c.desk.ChangeClinic(t.Context(), c.as(store.Admin), func(s *desk.Clinic) error {
		s.Emergency = "Call 999; the kit hangs by the door."
		return nil
	})
	require.NoError(t, err)
	assert.Contains(t, assistant.get(at).body, "the kit hangs by the door")

	page := assistant.get("/now").body
	assert.Contains(t, page, "the kit hangs by the door")
	assert.Contains(t, page, "Stop: K4 at Bay 1")
	assert.Contains(t, page, "data-loud", "nobody has seen it yet")
	assert.Contains(t, assistant.get("/patients").body, `href="/now#need-`, "every page shows it")

	assert.Equal(t, http.StatusNoContent, assistant.post(at+"/shown").status)
	require.NotNil(t, c.need().Shown)

	assert.Equal(t, fmt.Sprintf("/now#need-%d", id), assistant.post(at+"/acknowledge").to)
	page = assistant.get("/now").body
	assert.Contains(t, page, "Noted: you have seen it.")
	assert.Contains(t, page, "by Mo Lind")
	assert.NotContains(t, page, "data-loud")
	assert.Contains(t, page, "I am going", "seeing is not going")

	assert.Equal(t, 303, supervisor.post(at+"/going").status)
	assert.Equal(t, 303, assistant.post(at+"/going").status)
	assert.Contains(t, assistant.get("/now").body, "R. Okafor was on the way before you.")
	a := c.need()
	assert.Equal(t, "Mo Lind", a.AcknowledgedBy)
	assert.Equal(t, "R. Okafor", a.GoingBy)

	// What was done and how it ended: both, and nothing typed is lost.
	wrong := assistant.post(at+"/close", "done", `sat down, BP 130/80 <b>`, "ended", " ")
	assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	assert.Contains(t, wrong.body, "Say how it ended")
	assert.Contains(t, wrong.body, `sat down, BP 130/80 &lt;b&gt;</textarea>`)
	assert.Equal(t, 303, assistant.post(at+"/close", "done", "sat down, BP 130/80", "ended", "felt well after ten minutes").status)
	assert.Contains(t, assistant.get("/now").body, "Nobody needs you")
	assert.Contains(t, assistant.get(at).body, "felt well after ten minutes")

	// Clearing is the supervisor's, deliberate and with a reason.
	held, err := c.store.OpenHolds(t.Context())
	require.NoError(t, err)
	require.Len(t, held, 1)
	hold := fmt.Sprintf("/holds/%d", held[0].ID)
	assert.Equal(t, http.StatusForbidden, assistant.post(hold+"/clear", "sure", "yes", "note", "well").status)
	assert.NotContains(t, assistant.get("/now").body, hold)
	assert.Contains(t, supervisor.get("/now").body, hold)
	assert.Contains(t, supervisor.get(hold).body, "felt well after ten minutes")
	wrong = supervisor.post(hold+"/clear", "note", "seen, well")
	assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	assert.Contains(t, wrong.body, "seen, well</textarea>")
	assert.Equal(t, "/now", supervisor.post(hold+"/clear", "sure", "yes", "note", "seen, well").to)
	assert.Contains(t, supervisor.get("/now").body, "K4 may exercise again")
	assert.Equal(t, http.StatusNotFound, supervisor.get(hold).status, "it is held no more")
}

func TestAStationIsFreedOnceSomebodyHasLooked(t *testing.T) {
	c := newClinic(t)
	c.stop("Bay 1", "K4")
	b, at := c.browser(store.Assistant), fmt.Sprintf("/attentions/%d", c.need().ID)
	c.locked("Bay 1")
	assert.Contains(t, b.get(at).body, "Free the place for others")
	assert.Equal(t, http.StatusUnprocessableEntity, b.post(at+"/release").status)
	kept := b.post(at+"/release", "looked", "yes", "done", "sat down, BP 130/80", "ended", "")
	assert.Equal(t, http.StatusOK, kept.status)
	assert.Contains(t, kept.body, "is free again")
	assert.Contains(t, kept.body, "sat down, BP 130/80</textarea>", "what was typed meanwhile is still there")
	assert.Equal(t, "/now", b.post(at+"/release", "looked", "yes").to)
	assert.Contains(t, b.get("/now").body, "Bay 1 is free again. K4 stays held")
}

func TestACodeForTheTelephoneIsReadOut(t *testing.T) {
	c := newClinic(t)
	c.stop("Home 1", "K4")
	held, err := c.store.OpenHolds(t.Context())
	require.NoError(t, err)
	b, at := c.browser(store.Supervisor), fmt.Sprintf("/holds/%d/telephone", held[0].ID)
	wrong := b.post(at, "sure", "yes", "note", "spoke to her, well")
	assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	assert.Contains(t, wrong.body, "Choose the station")
	a := b.post(at, "sure", "yes", "note", "spoke to her, well", "station", "Home 1")
	assert.Equal(t, 200, a.status, a.body)
	assert.Regexp(t, `(?s)<ol class="presses">(<li>(minus|plus|tap|hold)</li>){8}</ol>`, a.body)
	assert.NotContains(t, b.get("/now").body, "Held until", "the hold is cleared here")
}

func TestWhoIsWhereInTheSession(t *testing.T) {
	c := newClinic(t)
	c.says("Bay 1", &link.SessionStatus{ID: "s-1", Tag: "K1", Part: coach.Whole, Item: 3, Items: 8, Exercise: "half-squat", Set: 2, Rep: 7})
	c.says("Bay 2", &link.SessionStatus{ID: "s-2", Tag: "K3", Part: coach.Whole, Item: 4, Items: 8, Exercise: "lateral-raise", Set: 1, RestS: 50})
	c.says("Bay 3", &link.SessionStatus{ID: "s-3", Tag: "K2", Part: coach.Whole, Item: 1, Items: 8, Exercise: "biceps-curl", Waiting: "ready"})
	page := c.browser(store.Admin).get("/now").body
	for _, want := range []string{"exercise 3 of 8, set 2, repetition 7", "Half squat", "resting: Lateral raise", "of rest left", "waits for a tap when ready"} {
		assert.Contains(t, page, want)
	}
	// Silent after five seconds, since when, and where nothing can come from.
	c.ahead.Add(int64(8 * time.Second))
	page = c.browser(store.Admin).get("/now").body
	assert.Contains(t, page, "Silent")
	assert.Contains(t, page, "data-since")
}

// In a real browser: a stop comes without a reload, loud, and is quiet once it
// was acknowledged by name; nothing typed or focused is lost to news.
func TestAStopComesToAnOpenPageLoudUntilItIsSeen(t *testing.T) {
	c := newClinic(t)
	c.station("Bay 1")
	b := c.tab()
	b.login(store.Supervisor)
	other := c.tab()
	other.login(store.Assistant)
	other.open("/patients")
	for _, x := range []*tab{b, other} {
		x.press("h1") // browsers let a page sound once somebody has touched it
		x.until(`document.getElementById("sound-off").hidden`)
		assert.Equal(t, "no", eval[string](x, `document.body.dataset.sounding`))
	}

	c.stop("Bay 1", "K4")
	b.until(`document.querySelector(".need.grave .what")?.textContent.includes("Stop: K4 at Bay 1")`)
	b.until(`document.body.dataset.sounding === "yes"`)
	other.until(`document.querySelector(".strip .alarms a")?.textContent.includes("Stop: K4 at Bay 1")`)
	other.until(`document.body.dataset.sounding === "yes"`)
	assert.Eventually(t, func() bool { return c.need().Shown != nil }, patience, 20*time.Millisecond, "the page says that it shows it")

	b.press(fmt.Sprintf(`form[action="/attentions/%d/acknowledge"] button`, c.need().ID))
	b.until(`document.body.innerText.includes("by R. Okafor")`)
	for _, x := range []*tab{b, other} {
		x.until(`document.body.dataset.sounding !== "yes"`)
		x.until(`!document.querySelector("[data-loud]")`)
	}
	assert.Contains(t, eval[string](other, `document.querySelector(".strip").innerText`), "seen by R. Okafor")
}

func TestNewsComesAgainAfterABreak(t *testing.T) {
	c := newClinic(t)
	c.station("Bay 1")
	b := c.tab()
	b.login(store.Admin)
	b.until(`document.querySelector(".calm")`)
	for n := range 3 {
		c.server.CloseClientConnections()
		c.says("Bay 1", &link.SessionStatus{ID: "s-1", Tag: "K1", Item: 1, Items: 8, Exercise: "half-squat", Set: 1, Rep: n + 1})
		b.until(fmt.Sprintf(`document.querySelector(".place")?.innerText.includes("repetition %d")`, n+1))
	}
}

// A page that hears nothing from the desk says so, and after a minute is loud,
// since an alarm could not reach it.
func TestAPageThatHearsNothingSaysSo(t *testing.T) {
	c := newClinic(t)
	b := c.tab()
	b.login(store.Assistant)
	b.press("h1")
	b.until(`document.querySelector(".calm")`)
	require.NoError(t, c.server.Listener.Close())
	c.server.CloseClientConnections()
	b.do(chromedp.Evaluate[chromedp.Void](`{ const real = Date.now; Date.now = () => real() + 20000; }`))
	b.until(`!document.getElementById("lost-desk").hidden`)
	assert.NotEqual(t, "yes", eval[string](b, `document.body.dataset.sounding`))
	b.do(chromedp.Evaluate[chromedp.Void](`{ const real = Date.now; Date.now = () => real() + 50000; }`))
	b.until(`document.body.dataset.sounding === "yes"`)
	b.press("#lost-seen")
	b.until(`document.body.dataset.sounding !== "yes"`)
	assert.False(t, eval[bool](b, `document.getElementById("lost-desk").hidden`), "it still says so")
}

// What somebody holds the focus on stays, while the page around it changes.
func TestNewsTakesNoFocus(t *testing.T) {
	c := newClinic(t)
	c.stop("Bay 1", "K4")
	b := c.tab()
	b.login(store.Supervisor)
	b.until(`document.querySelector(".need")`)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector(".need a.button").focus()`))
	c.stop("Bay 2", "K5")
	b.until(`document.querySelectorAll(".need").length === 2`)
	assert.True(t, eval[bool](b, `document.activeElement.closest(".need").innerText.includes("K4")`))
}

// By keyboard alone: in, to the stop, going.
func TestEverythingNeedsOnlyAKeyboard(t *testing.T) {
	c := newClinic(t)
	c.stop("Bay 1", "K4")
	id := c.need().ID
	b := c.tab()
	b.open("/login")
	b.keys(staffed[store.Assistant], "\t", password, "\r")
	b.until(`location.pathname === "/now" && document.readyState === "complete"`)
	b.keys("\t")
	assert.Equal(t, "Skip to the page", eval[string](b, `document.activeElement.innerText`))
	assert.True(t, b.focusIsSeen(), "a skip link shows when it is reached")
	b.keys("\r")
	b.until(`document.activeElement.id === "main"`)
	b.tabTo(fmt.Sprintf(`form[action="/attentions/%d/going"] button`, id))
	b.keys("\r")
	b.until(`document.body.innerText.includes("Noted: you are going.")`)
	assert.Equal(t, "Mo Lind", c.need().GoingBy)
}

// The first touch lets the alarm sound; it must also do what it was meant to,
// although the words about the silent alarm go away.
func TestTheFirstTouchDoesWhatItWasMeantTo(t *testing.T) {
	c := newClinic(t)
	b := c.tab()
	b.login(store.Assistant)
	b.open("/day")
	b.until(`!document.getElementById("sound-off").hidden`)
	b.slowly(`form[action="/day/sound"] button.main`)
	b.until(`document.body.innerText.includes("Noted: the alarm was heard")`)
}

// What is known beyond the reason is called what it is.
func TestWhatMoreIsKnown(t *testing.T) {
	for want, a := range map[string]store.Attention{
		"":                                  {Reason: store.StopPressed},
		", felt: dizzy or faint":            {Reason: store.StopPressed, Symptom: string(coach.SymptomDizzy)},
		", asked: whether they feel well":   {Reason: store.NotWell, Symptom: coach.QuestionWell},
		", asked: a tap when ready":         {Reason: store.NoAnswer, Symptom: "ready"},
		", more: sound: the sink has ended": {Reason: store.PartFailed, Symptom: "sound: the sink has ended"},
	} {
		assert.Equal(t, want, moreWords(a))
	}
}

package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// On the phone of an assistant who has never seen these pages: from the login
// to a class on its stations, by what the pages themselves say.
func TestAnAssistantLoadsAClassOnAPhone(t *testing.T) {
	c := newClinic(t)
	c.gym()
	b := c.tab()
	b.as(looks[0])
	b.login(store.Assistant)
	b.follow("The day")
	b.until(`document.querySelector("[data-play-alarm]").offsetParent`)
	b.press("[data-play-alarm]")
	b.say("It was heard")
	b.until(`document.body.innerText.includes("Noted: the alarm was heard")`)
	b.follow("Make a class")
	b.say("Make the timetable")
	b.until(`document.body.innerText.includes("Nothing is on the stations yet")`)
	b.until(`document.querySelector(".timetable img").naturalWidth > 0`)
	b.say("Load the class onto its stations")
	b.until(`document.body.innerText.includes("Sent to 2 stations")`)
	b.until(`document.body.innerText.includes("on the stations")`)
	stations, err := c.store.Stations(t.Context())
	require.NoError(t, err)
	for _, s := range stations {
		plan, err := c.store.PlanFor(t.Context(), s.ID)
		require.NoError(t, err)
		assert.NotEmpty(t, plan.Tags)
	}
}

// follow taps the link of these words.
func (b *tab) follow(words string) { b.tap("a", words) }

// say taps the button of these words.
func (b *tab) say(words string) { b.tap("button", words) }

// tap taps the first thing of a kind with these words that can be seen, in the
// middle, as a finger does.
func (b *tab) tap(kind, words string) {
	b.t.Helper()
	words = strings.ReplaceAll(words, `"`, `\"`)
	b.until(`(() => {
		const all = [...document.querySelectorAll("` + kind + `")].filter(e => e.innerText.trim() === "` + words + `" && e.offsetParent);
		document.querySelectorAll("[data-tapped]").forEach(e => delete e.dataset.tapped);
		if (all[0] && document.readyState === "complete") all[0].dataset.tapped = "";
		return document.querySelector("[data-tapped]");
	})()`)
	b.press("[data-tapped]")
}

// Somebody whose browser runs no scripts can still do everything but hear.
func TestItWorksWithoutScripts(t *testing.T) {
	c := newClinic(t)
	c.stop("Bay 1", "K4")
	b := c.tab()
	b.scripts(false)
	b.open("/login")
	b.do(chromedp.SendKeys(chromedp.CSS("#f-name"), staffed[store.Assistant]), chromedp.SendKeys(chromedp.CSS("#f-password"), password+"\r"))
	b.seen("Stop: K4 at Bay 1")
	b.seen("Scripts are off in this browser")
	b.press(".need form button")
	b.seen("Noted: you are going.")
	assert.Equal(t, "Mo Lind", c.need().GoingBy)
}

package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"rsc.io/qr"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

func TestAStationIsAddedLetInNamedAndShutOut(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	wrong := b.post("/stations", "name", "", "place", "by the door")
	assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	assert.Contains(t, wrong.body, `value="by the door"`)

	a := b.post("/stations", "name", "Bay 3", "place", "the place by the door")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	at := strings.TrimSuffix(a.to, "/code")
	page := b.get(a.to).body
	open, err := c.store.OpenCodes(t.Context(), c.desk.Time())
	require.NoError(t, err)
	require.Len(t, open, 1)
	code := open[0].Code
	assert.Contains(t, page, ">"+code+"<")
	assert.Contains(t, page, "station enrol --desk https://")
	assert.Contains(t, page, fmt.Sprintf(`data-until="%d"`, open[0].Expires.UnixMilli()))

	picture := b.get(at + "/code.svg")
	q, err := qr.Encode("evenbell-enrol:?code="+code+"&desk=https%3A%2F%2F"+strings.ReplaceAll(strings.TrimPrefix(c.server.URL, "http://"), ":", "%3A"), qr.M)
	require.NoError(t, err)
	assert.Equal(t, string(qrPicture(q)), picture.body, "the picture holds the code and where to go with it")

	_, err = c.link.Enrol(t.Context(), strings.Repeat("ab", 32), "192.0.2.7", func(x string) bool { return x == code })
	require.NoError(t, err)
	assert.Contains(t, b.get(a.to).body, "Bay 3 is in")
	assert.Equal(t, http.StatusNotFound, b.get(at+"/code.svg").status)

	assert.Equal(t, http.StatusUnprocessableEntity, b.post("/stations", "name", "bay 3").status, "that name is taken")
	assert.Equal(t, "/stations", b.post(at+"/name", "name", "Bay 30", "place", "").to)
	assert.Contains(t, b.get("/stations").body, "Bay 30")

	wrong = b.post(at + "/revoke")
	assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	assert.Contains(t, wrong.body, "Tick that this station is to be shut out")
	assert.Contains(t, wrong.body, `value="Bay 30"`, "the rest of the page is as it was")
	assert.Equal(t, "/stations", b.post(at+"/revoke", "sure", "yes").to)
	assert.Contains(t, b.get("/stations").body, "Shut out")
	assert.Equal(t, http.StatusNotFound, b.get(at).status)
}

func TestACodeRunsOut(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	at := b.post("/stations", "name", "Bay 3").to
	c.ahead.Store(int64(11 * time.Minute))
	assert.Contains(t, b.get(at).body, "There is no code that is still good")
	assert.Equal(t, at, b.post(at).to)
	assert.Contains(t, b.get(at).body, "station enrol")
}

func TestAStationSaysHowItIs(t *testing.T) {
	c := newClinic(t)
	p := c.station("Bay 1")
	at := c.desk.Time()
	c.said += 10
	require.NoError(t, c.link.Status(t.Context(), p, link.Status{Program: "0123456789abcdef", Boot: "boot-Bay 1", MonoNS: c.said * int64(time.Second), Unsent: 41, VolumeDB: -6,
		Voice: "en rms", Sound: "alsa default", Space: 12, Reads: []string{"day-plan/1"},
		SelfTest: link.SelfTest{At: &at, Findings: []string{"lamps: the stop lamp does not light <b>"}}}))
	page := c.browser(store.Assistant).get("/stations").body
	for _, want := range []string{"41 entries", "not set", "0123456789abcdef<", "-6 dB", "alsa default", "en rms", "12 days", "found something", "the stop lamp does not light &lt;b&gt;"} {
		assert.Contains(t, page, want)
	}
	assert.NotContains(t, page, "Look after", "that is the admin's")
	assert.Contains(t, c.browser(store.Assistant).get("/now").body, "Bay 1: 41 entries of its log")
}

// In a browser: the page with the code says so when the device has come in.
func TestThePageSaysWhenADeviceHasComeIn(t *testing.T) {
	c := newClinic(t)
	b := c.tab()
	b.login(store.Admin)
	b.open("/stations")
	b.do(chromedp.SendKeys(chromedp.CSS("#f-name"), "Bay 3"))
	b.press(`form[action="/stations"] button`)
	b.until(`/[A-Z2-7]{4}(-[A-Z2-7]{4}){3}/.test(document.querySelector(".large").innerText)`)
	b.until(`/^9:\d\d$/.test(document.querySelector("[data-until]").innerText)`)
	b.until(`document.querySelector(".letin img").naturalWidth > 0`)
	code := eval[string](b, `document.querySelector(".large").innerText`)
	_, err := c.link.Enrol(t.Context(), strings.Repeat("cd", 32), "192.0.2.7", func(x string) bool { return x == code })
	require.NoError(t, err)
	b.until(`document.body.innerText.includes("Bay 3 is in")`)
}

// A plan that a backup knows nothing of is told where the stations are, until
// another is loaded.
func TestAPlanThatThisDeskDoesNotKnow(t *testing.T) {
	c := newClinic(t)
	p := c.station("Bay 1")
	require.NoError(t, c.store.KnowPlan(t.Context(), p.ID, 7, c.desk.Time()))
	assert.Contains(t, c.browser(store.Admin).get("/stations").body, "has plan 7, which this desk does not know")
	_, err := c.desk.AddPatient(t.Context(), c.as(store.Supervisor), store.Patient{Tag: "K1", Name: "Ada Holm"})
	require.NoError(t, err)
	c.planned("K1", true)
	b := c.browser(store.Supervisor)
	require.Equal(t, http.StatusSeeOther, b.post("/day/load", "to-K1", "Bay 1").status)
	page := b.get("/stations").body
	assert.NotContains(t, page, "does not know")
	assert.Contains(t, page, "plan 8 is on its way")
}

package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/desk/web/planform"
)

func itoa(n int64) string { return strconv.FormatInt(n, 10) }

// holm is a patient with a bad left shoulder.
func (c *clinic) holm(b *browser) {
	c.t.Helper()
	_, err := c.desk.ChangeClinic(c.t.Context(), c.as(store.Admin), func(s *desk.Clinic) error {
		s.Name, s.Owned, s.Zone = "Harbour Street Heart Gym", "1, 1.5, 2, 2.5, 3, 4 kg; band 1, 2", "UTC"
		return nil
	})
	require.NoError(c.t, err)
	a := b.post("/patients/new", "tag", "K4", "name", "Ada Holm", "pre.0.kind", "shoulder", "pre.0.side", "left")
	require.Equal(c.t, http.StatusSeeOther, a.status, a.body)
}

// filled are a page's fields with what stands in them, as a browser would send
// them back.
func filled(t testing.TB, body string) url.Values {
	v := url.Values{}
	for _, m := range regexp.MustCompile(`<input [^>]*>`).FindAllString(body, -1) {
		name := attribute(m, "name")
		kind := attribute(m, "type")
		if name == "" || (kind == "checkbox" || kind == "radio") && !strings.Contains(m, " checked") {
			continue
		}
		v.Add(name, attribute(m, "value"))
	}
	for _, m := range regexp.MustCompile(`(?s)<select [^>]*name="([^"]+)".*?</select>`).FindAllStringSubmatch(body, -1) {
		if chosen := regexp.MustCompile(`<option value="([^"]*)" selected`).FindStringSubmatch(m[0]); chosen != nil {
			v.Add(m[1], unescape(chosen[1]))
		}
	}
	require.NotEmpty(t, v)
	return v
}

func attribute(tag, name string) string {
	m := regexp.MustCompile(` ` + name + `="([^"]*)"`).FindStringSubmatch(tag)
	if m == nil {
		return ""
	}
	return unescape(m[1])
}

func unescape(s string) string {
	return strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&#43;", "+", "&amp;", "&").Replace(s)
}

func (b *browser) postForm(path string, v url.Values) answer {
	var pairs []string
	for name, values := range v {
		for _, s := range values {
			pairs = append(pairs, name, s)
		}
	}
	return b.post(path, pairs...)
}

func TestAPlanIsWrittenKeptAndApproved(t *testing.T) {
	c := newClinic(t)
	super, assistant := c.browser(store.Supervisor), c.browser(store.Assistant)
	c.holm(super)
	begin := assistant.get("/patients/K4/plan")
	require.Equal(t, http.StatusOK, begin.status, begin.body)
	assert.Contains(t, begin.body, "left shoulder")

	page := assistant.get("/patients/K4/plan/write?from=pier-chair")
	require.Equal(t, http.StatusOK, page.status, page.body)
	assert.Contains(t, page.body, "nothing against it")
	assert.Contains(t, page.body, "Changed for this patient")
	v := filled(t, page.body)
	v.Set("do", "keep")
	kept := assistant.postForm("/patients/K4/plan/write", v)
	require.Equal(t, http.StatusSeeOther, kept.status, kept.body)
	require.Regexp(t, `^/plans/\d+$`, kept.to)

	assert.NotContains(t, assistant.get(kept.to).body, "/approve", "an assistant is not offered what they may not do")
	assert.Equal(t, http.StatusForbidden, assistant.get(kept.to+"/approve").status)
	ask := super.get(kept.to + "/approve")
	require.Equal(t, http.StatusOK, ask.status, ask.body)
	seen := filled(t, ask.body).Get("seen")
	require.Len(t, seen, 64)
	assert.Contains(t, ask.body, seen)

	unread := super.post(kept.to+"/approve", "seen", seen)
	require.Equal(t, http.StatusUnprocessableEntity, unread.status)
	other := super.post(kept.to+"/approve", "seen", strings.Repeat("0", 64), "read", "yes")
	require.Equal(t, http.StatusUnprocessableEntity, other.status, "what was not looked at is not approved")
	assert.Equal(t, http.StatusForbidden, assistant.post(kept.to+"/approve", "seen", seen, "read", "yes").status)

	done := super.post(kept.to+"/approve", "seen", seen, "read", "yes")
	require.Equal(t, http.StatusSeeOther, done.status, done.body)
	after := super.get(kept.to)
	assert.Contains(t, after.body, "Approved by R. Okafor")
	assert.Contains(t, after.body, "/withdraw")
}

func TestFaultsStandAtTheirFieldsAndNothingIsLost(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	c.holm(b)
	v := filled(t, b.get("/patients/K4/plan/write?from=nothing").body)
	v.Set("i0.what", "lateral-raise/standing")
	v.Set("i0.reps", "ninety")
	v.Set("i0.load", "900 kg")
	v.Set("pace.rest", "3")
	v.Set("note", evil)
	v.Set("do", "check")
	a := b.postForm("/patients/K4/plan/write", v)
	require.Equal(t, http.StatusOK, a.status)
	seeAsText(t, a)
	for _, want := range []string{`id="f-i0.reps-fault"`, `id="f-i0.load-fault"`, `id="f-i0.what-fault"`, `id="f-pace.rest-fault"`, "common practice", `value="ninety"`, `value="900 kg"`, "In its place, under these precautions"} {
		assert.Contains(t, a.body, want)
	}
	assert.Regexp(t, `(?s)f-i0.what-fault.*Lateral raise, standing goes against the shoulder precaution \(left\).*offered with it`, a.body)

	// The advice is one button away, and takes the place of what is barred.
	swap := regexp.MustCompile(`value="(swap-0:[^"]+)"`).FindStringSubmatch(a.body)
	require.NotNil(t, swap)
	v = filled(t, a.body)
	v.Set("do", swap[1])
	v.Set("i0.reps", "10")
	v.Set("pace.rest", "60")
	v.Set("note", "")
	a = b.postForm("/patients/K4/plan/write", v)
	assert.NotContains(t, a.body, "f-i0.what-fault")

	// Kept with faults it is a draft that cannot be approved, and opens again.
	v.Set("i0.reps", "ninety")
	v.Set("do", "keep")
	a = b.postForm("/patients/K4/plan/write", v)
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	again := b.get(a.to)
	assert.Contains(t, again.body, `value="ninety"`)
	assert.Contains(t, again.body, "f-i0.reps-fault")
}

func TestAPlanOfThePastSaysSo(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	c.holm(b)
	v := filled(t, b.get("/patients/K4/plan/write?from=pier-chair").body)
	v.Set("day", "2020-01-06")
	v.Set("do", "check")
	a := b.postForm("/patients/K4/plan/write", v)
	assert.Contains(t, a.body, "last day of this plan is past")
	v.Set("do", "keep")
	kept := b.postForm("/patients/K4/plan/write", v)
	assert.Contains(t, b.get(kept.to+"/approve").body, "last day of this plan is past")
}

func TestItemsAreAddedMovedAndTakenOut(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	c.holm(b)
	v := filled(t, b.get("/patients/K4/plan/write?from=quay-mat").body)
	n := planform.FromValues(v).Items()
	second := v.Get("i1.what")
	for do, items := range map[string]int{"up-1": n, fmt.Sprintf("add-%d", n): n + 1, "take-0": n - 1, "up-0": n, "down-99": n, "take--1": n, "add-": n + 1, "swap-0:nonsense": n, "nothing": n} {
		w := url.Values{}
		for k, s := range v {
			w[k] = s
		}
		w.Set("do", do)
		a := b.postForm("/patients/K4/plan/write", w)
		require.Equal(t, http.StatusOK, a.status, do)
		got := filled(t, a.body)
		assert.Equal(t, items, planform.FromValues(got).Items(), do)
		if do == "up-1" {
			assert.Equal(t, second, got.Get("i0.what"))
		}
	}
}

func TestALoadIsWorkedOutInPlace(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	c.holm(b)
	v := filled(t, b.get("/patients/K4/plan/write?from=nothing").body)
	v.Set("i0.what", "biceps-curl/seated")
	v.Set("i0.trial-load", "3 kg")
	v.Set("i0.trial-reps", "10")
	v.Set("i0.trial-left", "2")
	v.Set("do", "trial-0")
	a := b.postForm("/patients/K4/plan/write", v)
	require.Equal(t, http.StatusOK, a.status)
	assert.Contains(t, a.body, "Could lift about")
	take := regexp.MustCompile(`value="(load-0:[^"]+)"`).FindStringSubmatch(a.body)
	require.NotNil(t, take, a.body)
	v = filled(t, a.body)
	v.Set("do", unescape(take[1]))
	a = b.postForm("/patients/K4/plan/write", v)
	got := filled(t, a.body)
	l, err := coach.ParseLoad(got.Get("i0.load"))
	require.NoError(t, err)
	assert.Less(t, l.Grams(), 3000.0)
}

// heardSound is a station's sound in tests.
type heardSound struct {
	asked    coach.Programme
	recorded map[string][]byte
}

func (h *heardSound) Item(_ context.Context, voice string, p coach.Programme, recorded map[string][]byte, item int) ([]byte, string, error) {
	h.asked, h.recorded = p, recorded
	return []byte("RIFF of " + p.Items[item].Exercise + " in " + voice), "audio/wav", nil
}

func TestAnyOneItemCanBeHeard(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	c.holm(b)
	c.planned("K4", false)
	p, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	all, err := c.store.PrescriptionsOf(t.Context(), p.ID)
	require.NoError(t, err)
	path := fmt.Sprintf("/plans/%d", all[0].ID)
	assert.NotContains(t, b.get(path).body, "<audio", "where nothing plays, nothing is offered")
	assert.Equal(t, http.StatusNotFound, b.get(path+"/sound/1").status)
	sound := &heardSound{}
	c.site.Sound = sound
	assert.Equal(t, 2, strings.Count(b.get(path).body, "<audio"))
	a := b.get(path + "/sound/2")
	assert.Equal(t, "RIFF of biceps-curl in en", a.body)
	assert.Equal(t, "audio/wav", a.header.Get("Content-Type"))
	assert.Equal(t, "K4", sound.asked.Tag)
	for _, n := range []string{"0", "3", "-1", "x"} {
		assert.Equal(t, http.StatusNotFound, b.get(path+"/sound/"+n).status, n)
	}
	assert.Equal(t, http.StatusForbidden, c.browser(store.Admin).get(path+"/sound/1").status)
}

// With the keyboard alone: a mistake is shown where it is, put right, and the
// plan is kept and approved.
func TestAPlanIsWrittenWithTheKeyboardAlone(t *testing.T) {
	c := newClinic(t)
	c.holm(c.browser(store.Supervisor))
	b := c.tab()
	b.login(store.Supervisor)
	b.open("/patients/K4/plan/write?from=pier-chair")
	reps := `(e => { e.focus(); e.select(); return true })(document.querySelector('[name="i0.reps"]'))`
	eval[bool](b, reps)
	b.do(chromedp.KeyEvent("ten\r"))
	b.until(`document.querySelector('[id="f-i0.reps-fault"]')`)
	b.until(`document.activeElement.matches("[data-focus]")`)
	assert.Equal(t, "ten", eval[string](b, `document.querySelector('[name="i0.reps"]').value`))
	eval[bool](b, reps)
	b.do(chromedp.KeyEvent("10\r"))
	b.until(`!document.querySelector(".fault") && document.body.innerText.includes("nothing against it")`)
	b.do(chromedp.Focus(chromedp.CSS(`[value="keep"]`)), chromedp.SendKeys(chromedp.CSS(`[value="keep"]`), "\r"))
	b.until(`location.pathname.startsWith("/plans/")`)
	b.do(chromedp.SendKeys(chromedp.CSS(`a[href$="/approve"]`), "\r"))
	b.until(`location.pathname.endsWith("/approve")`)
	b.do(chromedp.SendKeys(chromedp.CSS(`[name="read"]`), " "), chromedp.SendKeys(chromedp.CSS(`form[action$="/approve"] button`), "\r"))
	b.until(`document.body.innerText.includes("Approved by R. Okafor")`)
}

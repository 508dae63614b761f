package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tab is a tab of a real browser at the house's pages.
type tab struct {
	h   *house
	ctx context.Context
}

// look opens one; without a browser on this machine the test is skipped.
func (h *house) look() *tab {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			require.NoError(h.t, err)
		}
		h.t.Skip("there is no browser to try the pages in")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.IgnoreCertErrors, chromedp.UserDataDir(h.t.TempDir()), chromedp.WindowSize(820, 1180))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, end := chromedp.NewContext(ctx)
	require.NoError(h.t, chromedp.Do(ctx))
	h.t.Cleanup(func() {
		within, done := context.WithTimeout(ctx, 20*time.Second)
		defer done()
		_ = chromedp.Cancel(within)
		end()
		stop()
	})
	return &tab{h, ctx}
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.h.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	require.NoError(b.h.t, chromedp.Do(ctx, steps...))
}

func (b *tab) open(path string) { b.do(chromedp.Navigate("https://" + b.h.addr + path)) }

// eval is what a script in the page comes to.
func (b *tab) eval(script string) string {
	b.h.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	s, err := chromedp.Run(ctx, chromedp.Evaluate[string]("(() => { try { return String("+script+") } catch { return \"\" } })()"))
	require.NoError(b.h.t, err)
	return s
}

// says waits for words on the page.
func (b *tab) says(words string) {
	b.h.t.Helper()
	end := time.Now().Add(patience)
	for b.eval(fmt.Sprintf("document.readyState === 'complete' && document.body.innerText.includes(%q)", words)) != "true" {
		if time.Now().After(end) {
			require.Fail(b.h.t, "the page does not say so", "%q\nbut at %s\n%s", words, b.eval("location.href"), b.eval("document.body.innerText"))
		}
		time.Sleep(50 * time.Millisecond)
	}
}

// tap taps, as a finger does, the first thing that can be tapped, is seen and
// begins with these words.
func (b *tab) tap(words string) {
	b.h.t.Helper()
	b.tapIn("body", words)
}

// tapIn is tap in one part of the page.
func (b *tab) tapIn(part, words string) {
	b.h.t.Helper()
	find := fmt.Sprintf(`(() => {
		const it = [...document.querySelector(%q).querySelectorAll("a, button, summary, label")].find(e => e.innerText.trim().startsWith(%q) && e.offsetParent);
		if (!it || document.readyState !== "complete") return "";
		it.scrollIntoView({block: "center"});
		const r = it.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2;
		const on = document.elementFromPoint(x, y);
		return on && (it.contains(on) || on.contains(it)) ? x + " " + y : "";
	})()`, part, words)
	end, before := time.Now().Add(patience), ""
	for time.Now().Before(end) {
		at := b.eval(find)
		var x, y float64
		// Where it was a moment ago: a page that is on its way moves.
		if _, err := fmt.Sscan(at, &x, &y); err == nil && at == before {
			b.do(chromedp.MouseClickXY(x, y))
			return
		}
		before = at
		time.Sleep(150 * time.Millisecond)
	}
	require.Fail(b.h.t, "there is no such thing to tap", "%q\nat %s\n%s", words, b.eval("location.href"), b.eval("document.body.innerText"))
}

// login logs somebody in.
func (b *tab) login(name, password string) {
	b.h.t.Helper()
	b.open("/")
	b.fill("#f-name", name)
	b.fill("#f-password", password)
	b.tap("Log in")
	b.says("Nobody needs you")
}

func (b *tab) fill(selector, words string) {
	b.h.t.Helper()
	b.do(chromedp.SetValue(chromedp.CSS(selector), words))
}

// The whole way round, in a real browser and with the real programs: a patient,
// a plan written and approved, loaded onto a station that coaches two sessions
// two hundred times as fast as life and is stopped in the third; the stop seen,
// gone to, closed and cleared; what was done reviewed, the proposals answered, and
// the next plan drafted of them and approved.
func TestTheWholeLoopInABrowser(t *testing.T) {
	h := newHouse(t)
	h.run("three plain words here\n", "desk", "user", "add", "--data", h.data, "--name", "R. Okafor", "--role", "supervisor", "--password-stdin")
	h.serve()
	w := h.mount("Bay 3", 200)
	w.start()
	b := h.look()
	b.login("R. Okafor", "three plain words here")

	b.open("/patients/new")
	b.fill(`[name="tag"]`, "K4")
	b.fill(`[name="name"]`, "Ada Holm")
	b.tap("Add the patient")
	b.says("Ada Holm")
	b.open("/patients/K4/plan")
	b.tap("Pier: chair and wall")
	b.tap("Keep as a draft")
	b.says("It does nothing until a supervisor approves it.")
	b.tap("Look, and approve")
	b.tap("every exercise, dose and warning above")
	b.tap("Approve as R. Okafor")
	b.tap("Load it on a station")
	b.says("Who comes")
	b.fill("#to-K4", "Bay 3")
	b.tap("Load what is chosen")
	b.says("Sent to Bay 3 (K4)")
	b.says("on the station")

	assert.Contains(t, w.until("session_end", "plus", "tap"), `"completed"`)
	assert.Contains(t, w.until("session_end", "plus", "tap"), `"completed"`)
	b.open("/now")
	w.until("rep", "plus", "tap")
	w.until("stop", "stop")
	assert.Contains(t, w.until("session_end", "plus"), `"stopped"`)
	b.says("Stop: K4 at Bay 3")
	b.tap("I am going")
	assert.Contains(t, w.until("help"), `"R. Okafor"`)
	b.tap("What was done, how it ended")
	b.tap("Somebody has looked after the person")
	b.tap("Free Bay 3")
	assert.Contains(t, w.until("release"), `"R. Okafor"`)
	b.tap("What was done, how it ended")
	b.fill("#f-done", "sat down, pressure 130/80")
	b.fill("#f-ended", "well after five minutes")
	b.tap("Close this")
	b.says("Closed: Stop: K4 at Bay 3.")
	// At two hundred times life nobody answers a list of symptoms in time.
	if b.eval(`document.body.innerText.includes("No answer: K4 at Bay 3")`) == "true" {
		b.tap("I have seen it")
		b.tap("What was done, how it ended")
		b.fill("#f-done", "was with them")
		b.fill("#f-ended", "as above")
		b.tap("Close this")
	}
	b.says("Nobody needs you")
	b.tap("K4, since")
	b.fill("#f-note", "pulled a muscle; watch the shoulder")
	b.tap("I have looked at this")
	b.tap("Clear K4")
	b.says("K4 may exercise again")
	w.until("clear")

	wait(t, "the whole log at the desk", func() bool { return len(h.entries()) >= countOf(w, "clear") })
	b.open("/review/K4")
	b.says("10 exercises stay as they are")
	b.tap("Approve all 10 as they are")
	b.says("Decided, not yet in an approved plan")
	b.tap("Draft the next plan")
	b.says("version 2")
	b.tap("Look, and approve")
	b.tap("every exercise, dose and warning above")
	b.tap("Approve as R. Okafor")
	b.says("Plan of Ada Holm, version 2")
	b.says("Biceps curl")
	w.halt()
	h.stop()
}

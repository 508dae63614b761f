package web

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// chrome is one browser for all tests of this room: it takes a second to start.
var chrome struct {
	once sync.Once
	ctx  context.Context
	err  error
	stop func()
}

func TestMain(m *testing.M) {
	code := m.Run()
	if chrome.stop != nil {
		chrome.stop()
	}
	os.Exit(code)
}

func startChrome() {
	chrome.once.Do(func() {
		path, err := exec.LookPath("chromium")
		if err != nil {
			chrome.err = err
			return
		}
		profile, err := os.MkdirTemp("", "evenbell-browser")
		if err != nil {
			chrome.err = err
			return
		}
		options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
			chromedp.UserDataDir(profile), chromedp.Flag("autoplay-policy", "document-user-activation-required"))
		ctx, stop1 := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, stop2 := chromedp.NewContext(ctx)
		chrome.ctx, chrome.err = ctx, chromedp.Do(ctx)
		chrome.stop = func() {
			within, done := context.WithTimeout(ctx, 20*time.Second)
			defer done()
			_ = chromedp.Cancel(within)
			stop2()
			stop1()
			_ = os.RemoveAll(profile)
		}
	})
}

// tab is one tab of a browser that knows nothing of the others.
type tab struct {
	t     testing.TB
	c     *clinic
	ctx   context.Context
	wrong []string // what the page said on its console
	mu    sync.Mutex
}

// tab opens one; without a browser on this machine the test is skipped.
func (c *clinic) tab() *tab {
	c.t.Helper()
	startChrome()
	if chrome.err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			require.NoError(c.t, chrome.err)
		}
		c.t.Skipf("there is no browser to try the pages in: %v", chrome.err)
	}
	ctx, stop := chromedp.NewContext(chrome.ctx, chromedp.WithNewBrowserContext())
	b := &tab{t: c.t, c: c, ctx: ctx}
	c.t.Cleanup(func() { _ = chromedp.Cancel(ctx); stop() })
	require.NoError(c.t, chromedp.Do(ctx)) // a tab lives as long as the context it began with
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.Type == "error" || m.Type == chromedp.ConsoleException {
				b.mu.Lock()
				b.wrong = append(b.wrong, m.Text)
				b.mu.Unlock()
			}
		}
	}()
	return b
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	require.NoError(b.t, chromedp.Do(ctx, steps...))
}

// eval is what a script in the page comes to.
func eval[T any](b *tab, script string) T {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	require.NoError(b.t, err, script)
	return v
}

// until waits for a script in the page to come true.
func (b *tab) until(script string) {
	b.t.Helper()
	deadline := time.Now().Add(patience)
	for !eval[bool](b, "(() => { try { return !!("+script+") } catch { return false } })()") { // a page on its way has no body yet
		if time.Now().After(deadline) {
			require.Fail(b.t, "it never came true", "%s\non a page that says\n%s", script, eval[string](b, "document.body.innerText"))
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// open goes to a page of ours.
func (b *tab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.c.server.URL + path))
}

// login logs somebody of a role in, by typing.
func (b *tab) login(role store.Role) {
	b.t.Helper()
	b.open("/login")
	b.do(chromedp.SendKeys(chromedp.CSS("#f-name"), staffed[role]), chromedp.SendKeys(chromedp.CSS("#f-password"), password+"\r"))
	b.until(`location.pathname === "/now" && document.readyState === "complete"`)
}

// press clicks what a selector finds first.
func (b *tab) press(selector string) {
	b.t.Helper()
	b.do(chromedp.Click(chromedp.CSS(selector)))
}

// look is a width and a scheme of colours to see a page in.
type look struct {
	name          string
	width, height int64
	dark          bool
}

// looks are what staff have in their hands, by day and by night.
var looks = []look{
	{"phone", 375, 750, false}, {"tablet", 820, 1180, false}, {"desktop", 1280, 800, false},
	{"phone-dark", 375, 750, true}, {"tablet-dark", 820, 1180, true}, {"desktop-dark", 1280, 800, true},
}

func (b *tab) as(l look) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(l.width, l.height))
	scheme := "light"
	if l.dark {
		scheme = "dark"
	}
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
	require.NoError(b.t, err)
}

// shoot keeps a picture of the whole page where EVENBELL_SCREENS names a
// folder, for people to look at.
func (b *tab) shoot(name string) {
	b.t.Helper()
	dir := os.Getenv("EVENBELL_SCREENS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	require.NoError(b.t, os.MkdirAll(dir, 0o755))
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// fault is one thing that a judge of accessibility found.
type axeFault struct {
	ID, Help string
	Nodes    []struct {
		HTML           string
		FailureSummary string
	}
}

// axe is the judge's program; empty where it is not installed.
func axe(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(os.Getenv("EVENBELL_NPM"), "node_modules", "axe-core", "axe.min.js"))
	if err != nil && os.Getenv("EVENBELL_PEERS") == "required" {
		require.NoError(t, err)
	}
	return string(text)
}

// judge lets axe look at the page as it is, colours alone in the dark: nothing
// else is different there.
func (b *tab) judge(l look, where string) {
	b.t.Helper()
	program := axe(b.t)
	if program == "" {
		return
	}
	if !eval[bool](b, `typeof axe === "object"`) {
		b.do(chromedp.Evaluate[chromedp.Void](program))
	}
	options := `{resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}`
	if l.dark {
		options = `{resultTypes: ["violations"], runOnly: {type: "rule", values: ["color-contrast"]}}`
	}
	text := eval[string](b, "axe.run(document, "+options+").then(r => JSON.stringify(r.violations))")
	var found []axeFault
	require.NoError(b.t, json.Unmarshal([]byte(text), &found))
	for _, f := range found {
		var nodes []string
		for _, n := range f.Nodes {
			nodes = append(nodes, n.HTML+"\n    "+strings.ReplaceAll(n.FailureSummary, "\n", "\n    "))
		}
		b.t.Errorf("%s, %s: %s (%s)\n  %s", where, l.name, f.Help, f.ID, strings.Join(nodes, "\n  "))
	}
}

// measure checks what axe does not: nothing sticks out at the side, and what
// one taps is as high as a thumb.
func (b *tab) measure(l look, where string) {
	b.t.Helper()
	wide := eval[int64](b, "document.documentElement.scrollWidth")
	if wide > l.width {
		out := eval[string](b, fmt.Sprintf(`[...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > %d && !e.closest(".wide")).slice(0, 3).map(e => e.outerHTML.slice(0, 160)).join("\n")`, l.width))
		b.t.Errorf("%s, %s: the page is %d wide:\n%s", where, l.name, wide, out)
	}
	small := eval[string](b, `[...document.querySelectorAll("button, .button, select, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), .choice, summary, .door, nav a")]
		.filter(e => e.offsetParent && e.getBoundingClientRect().height < 43.9).slice(0, 3).map(e => Math.round(e.getBoundingClientRect().height) + " " + e.outerHTML.slice(0, 160)).join("\n")`)
	if small != "" {
		b.t.Errorf("%s, %s: too low for a thumb:\n%s", where, l.name, small)
	}
}

// keys types on the keyboard, whatever has the focus.
func (b *tab) keys(all ...string) {
	b.t.Helper()
	for _, k := range all {
		b.do(chromedp.KeyEvent(k))
	}
}

// tabTo presses the tabulator until something has the focus; on the way
// everything that gets it must be seen to have it.
func (b *tab) tabTo(selector string) {
	b.t.Helper()
	for range 80 {
		b.keys("\t")
		if !b.focusIsSeen() {
			b.t.Errorf("the focus is not to be seen on %s", eval[string](b, `document.activeElement.outerHTML.slice(0, 200)`))
		}
		if eval[bool](b, fmt.Sprintf("document.activeElement.matches(%q)", selector)) {
			return
		}
	}
	require.Fail(b.t, "the tabulator never comes there", selector)
}

// focusIsSeen reports whether what has the focus is outlined and not under
// something else.
func (b *tab) focusIsSeen() bool {
	b.t.Helper()
	return eval[bool](b, `(() => {
		const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e);
		if (e === document.body) return true;
		const marked = s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 || e.closest(".choice");
		const at = document.elementFromPoint(r.left + r.width / 2, Math.min(r.top + r.height / 2, innerHeight - 1));
		return !!marked && r.width > 0 && !!at && (e.contains(at) || at.contains(e));
	})()`)
}

// scripts switches the page's own scripts on or off.
func (b *tab) scripts(on bool) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on})
	require.NoError(b.t, err)
}

// seen waits for words on the page, whether it runs scripts or not.
func (b *tab) seen(words string) {
	b.t.Helper()
	deadline := time.Now().Add(patience)
	for {
		text, err := chromedp.Run(b.ctx, chromedp.Text(chromedp.CSS("body")))
		if err == nil && strings.Contains(text, words) {
			return
		}
		if time.Now().After(deadline) {
			require.Fail(b.t, "the page does not say so", "%s\nbut\n%s", words, text)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// slowly presses with a finger that stays for a while, where the thing was when
// it came down.
func (b *tab) slowly(selector string) {
	b.t.Helper()
	at := eval[[]float64](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()`, selector))
	b.do(chromedp.MouseEvent(chromedp.MousePressed, at[0], at[1], chromedp.ButtonLeft, chromedp.ClickCount(1)))
	time.Sleep(200 * time.Millisecond)
	b.do(chromedp.MouseEvent(chromedp.MouseReleased, at[0], at[1], chromedp.ButtonLeft, chromedp.ClickCount(1)))
}

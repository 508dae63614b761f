package main

import (
	"bytes"
	"context"
	"flag"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// pictures is where testdata/pictures/make wants pictures of the demo's pages.
var pictures = flag.String("pictures", "", "write the README's pictures of the demo into this folder")

// saying is what a program in this process has written so far.
type saying struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (s *saying) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(b)
}

func (s *saying) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// shown is the demo at work.
type shown struct {
	base, password string
	browser        *http.Client
}

func runsDemo(t *testing.T, args ...string) *shown {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var said, errs saying
	ended := make(chan int, 1)
	go func() {
		ended <- (&program{stdin: strings.NewReader(""), stdout: &said, stderr: &errs}).Run(ctx, append([]string{"demo", "--addr", "127.0.0.1:0"}, args...))
	}()
	t.Cleanup(func() {
		stop()
		require.Zero(t, <-ended, errs.String())
	})
	login := regexp.MustCompile(`serving (\S+)\n(?:.*\n)*log in as P. Amsel.*password (\S+)\n`)
	require.Eventually(t, func() bool { return login.MatchString(said.String()) || len(ended) > 0 }, patience, 50*time.Millisecond)
	got := login.FindStringSubmatch(said.String())
	require.NotEmpty(t, got, &errs)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	return &shown{base: got[1], password: got[2], browser: &http.Client{Jar: jar, Timeout: patience}}
}

func (d *shown) logIn(t *testing.T, name string) {
	t.Helper()
	_, body := d.get(t, "/login")
	kept := regexp.MustCompile(`name="(\w+)" value="([^"]*)"`).FindAllStringSubmatch(body, -1)
	form := url.Values{"name": {name}, "password": {d.password}}
	for _, k := range kept {
		form.Set(k[1], k[2])
	}
	r, err := d.browser.PostForm(d.base+"/login", form)
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	require.NotContains(t, r.Request.URL.Path, "login", "%s was not let in", name)
}

func (d *shown) get(t *testing.T, path string) (int, string) {
	t.Helper()
	r, err := d.browser.Get(d.base + path)
	require.NoError(t, err)
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return r.StatusCode, string(body)
}

func TestTheDemoHasSomethingTrueOnEveryPage(t *testing.T) {
	weeks := "4"
	if *pictures != "" {
		weeks = "12"
	}
	d := runsDemo(t, "--speed", "30", "--weeks", weeks)
	d.logIn(t, "R. Okafor")
	for path, has := range map[string]string{
		"/day":                   "Anselm Brandt",
		"/patients":              "Bríd Ní Choisdealbha",
		"/patients/K4":           "completed",
		"/patients/K4/progress":  "<svg",
		"/patients/K4/sessions":  "completed",
		"/patients/L7/screening": "Screening",
		"/review":                "since their plan was approved",
		"/review/V2":             "What comes next",
		"/stations":              "the place by the window",
		"/clinic":                "Quayside Heart Health",
		"/records":               "CSV",
	} {
		code, body := d.get(t, path)
		require.Equal(t, http.StatusOK, code, path)
		require.Contains(t, body, has, path)
	}
	require.Eventually(t, func() bool {
		_, body := d.get(t, "/now")
		return strings.Contains(body, "Stop: K4")
	}, patience, 500*time.Millisecond, "somebody at Bay 1 is about to press the red button")
	if *pictures != "" {
		d.draw(t, *pictures)
	}
}

func TestTheDemoIsForThisMachineOnly(t *testing.T) {
	var out, errs bytes.Buffer
	code := (&program{stdin: strings.NewReader(""), stdout: &out, stderr: &errs}).Run(context.Background(), []string{"demo", "--addr", "0.0.0.0:0"})
	require.Equal(t, 2, code)
	require.Contains(t, errs.String(), "for this machine only")
}

// draw writes pictures of pages, as a tablet shows them.
func (d *shown) draw(t *testing.T, dir string) {
	path, err := exec.LookPath("chromium")
	require.NoError(t, err, "the pictures need chromium")
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.ExecPath(path), chromedp.Flag("autoplay-policy", "no-user-gesture-required"))...)
	defer stop()
	ctx, stop = chromedp.NewContext(ctx)
	defer stop()
	do := func(steps ...chromedp.Action[chromedp.Void]) { require.NoError(t, chromedp.Do(ctx, steps...)) }
	do()
	do(chromedp.EmulateViewport(820, 900), chromedp.Navigate(d.base+"/login"))
	do(chromedp.SendKeys(chromedp.CSS("#f-name"), "R. Okafor"), chromedp.SendKeys(chromedp.CSS("#f-password"), d.password+"\r"))
	for name, page := range map[string]string{"now": "/now", "review": "/review/V2", "progress": "/patients/K4/progress"} {
		time.Sleep(time.Second) // what is live settles
		do(chromedp.EmulateViewport(820, 900), chromedp.Navigate(d.base+page))
		time.Sleep(time.Second)
		png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
	}
}

package main

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"evenbell/coach/journal"
)

// patience is how long a test waits for a program on a machine that is busy
// with a lot else.
const patience = 3 * time.Minute

// programs builds both, once for all tests, and gives their folder.
var programs = sync.OnceValues(func() (string, error) {
	out, err := exec.Command("go", "build", "-o", scratch+string(filepath.Separator), ".", "../station").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("building the programs: %w: %s", err, out)
	}
	return scratch, nil
})

// house is a clinic of real programs: a desk with its data folder and address,
// and a station on the wall.
type house struct {
	t          testing.TB
	bin        string
	data, addr string
	desk       *exec.Cmd
	log        bytes.Buffer // of desk and station
	logging    sync.Mutex
	browser    *http.Client
}

func newHouse(t testing.TB) *house {
	bin, err := programs()
	require.NoError(t, err)
	on, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	h := &house{t: t, bin: bin, data: filepath.Join(t.TempDir(), "desk"), addr: on.Addr().String(),
		browser: &http.Client{Jar: jar, Timeout: patience, Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, ForceAttemptHTTP2: true}}}
	require.NoError(t, on.Close())
	t.Cleanup(func() {
		h.kill()
		if t.Failed() {
			t.Logf("what the programs said:\n%s", h.said())
		}
	})
	return h
}

// Write takes what the programs log.
func (h *house) Write(b []byte) (int, error) {
	h.logging.Lock()
	defer h.logging.Unlock()
	return h.log.Write(b)
}

func (h *house) said() string {
	h.logging.Lock()
	defer h.logging.Unlock()
	return h.log.String()
}

// run runs a command of the desk or the station to its end.
func (h *house) run(stdin string, program string, args ...string) string {
	h.t.Helper()
	c := exec.Command(filepath.Join(h.bin, program), args...)
	c.Stdin = strings.NewReader(stdin)
	var stderr bytes.Buffer
	c.Stderr = &stderr
	out, err := c.Output()
	require.NoError(h.t, err, "%s %s: %s", program, strings.Join(args, " "), stderr.String())
	return string(out)
}

// fails runs a command that must exit with 1, and gives what it said.
func (h *house) fails(program string, args ...string) string {
	h.t.Helper()
	out, err := exec.Command(filepath.Join(h.bin, program), args...).CombinedOutput()
	var exit *exec.ExitError
	require.ErrorAs(h.t, err, &exit, "%s", out)
	require.Equal(h.t, 1, exit.ExitCode(), "%s", out)
	return string(out)
}

// serve starts the desk and waits until it answers.
func (h *house) serve() {
	h.desk = exec.Command(filepath.Join(h.bin, "desk"), "serve", "--data", h.data, "--addr", h.addr)
	h.desk.Stderr = h
	out, err := h.desk.StdoutPipe()
	require.NoError(h.t, err)
	require.NoError(h.t, h.desk.Start())
	first, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(h.t, err, "the desk does not serve")
	require.Equal(h.t, "serving https://"+h.addr+"\n", first)
	go io.Copy(io.Discard, out)
}

// kill ends the desk without warning.
func (h *house) kill() {
	if h.desk == nil {
		return
	}
	_ = h.desk.Process.Kill() // it may have ended
	_ = h.desk.Wait()
	h.desk = nil
}

// stop ends the desk as a service manager does.
func (h *house) stop() {
	require.NoError(h.t, h.desk.Process.Signal(unix.SIGTERM))
	require.NoError(h.t, h.desk.Wait())
	h.desk = nil
}

func (h *house) get(path string) string {
	h.t.Helper()
	r, err := h.browser.Get("https://" + h.addr + path)
	require.NoError(h.t, err)
	return h.page(r)
}

func (h *house) post(path string, form url.Values) string {
	h.t.Helper()
	r, err := h.browser.PostForm("https://"+h.addr+path, form)
	require.NoError(h.t, err)
	return h.page(r)
}

func (h *house) page(r *http.Response) string {
	h.t.Helper()
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(h.t, err)
	require.Equal(h.t, http.StatusOK, r.StatusCode, "%s: %s", r.Request.URL, text)
	return string(text)
}

// wall is a station on the wall.
type wall struct {
	h            *house
	dir, data    string
	config, fifo string
	box          *os.File
	cmd          *exec.Cmd
	reader       *journal.Reader
	at           journal.Position
}

// mount enrols a station and hangs it up.
func (h *house) mount(name string, speed int) *wall {
	dir := h.t.TempDir()
	w := &wall{h: h, dir: dir, data: filepath.Join(dir, "data"), config: filepath.Join(dir, "station.toml"), fifo: filepath.Join(dir, "box")}
	code, _, _ := strings.Cut(h.run("", "desk", "station", "code", "--data", h.data, "--name", name), "\n")
	h.run("", "station", "enrol", "--desk", "https://"+h.addr, "--code", code, "--data", w.data)
	require.NoError(h.t, unix.Mkfifo(w.fifo, 0o600))
	require.NoError(h.t, os.WriteFile(w.config, fmt.Appendf(nil, `format = "station/1"
name = %q
data = %q
sink = "silent"
speed = %d
intro = false
[buttons]
kind = "lines"
path = %q
[desk]
url = "https://%s"
`, name, w.data, speed, w.fifo, h.addr), 0o600))
	return w
}

func (w *wall) start() {
	var err error
	w.box, err = os.OpenFile(w.fifo, os.O_RDWR, 0) // never waits for a reader
	require.NoError(w.h.t, err)
	w.cmd = exec.Command(filepath.Join(w.h.bin, "station"), "run", "--config", w.config)
	w.cmd.Stderr = w.h
	require.NoError(w.h.t, w.cmd.Start())
	w.h.t.Cleanup(w.halt)
	w.wait("the station's log", func() bool {
		w.reader, err = journal.OpenReader(w.data)
		return err == nil
	})
	w.h.t.Cleanup(func() { w.reader.Close() })
}

func (w *wall) halt() {
	if w.cmd == nil {
		return
	}
	_ = w.cmd.Process.Signal(unix.SIGTERM) // it may have ended
	_ = w.cmd.Wait()
	w.cmd = nil
	w.box.Close()
}

func (w *wall) wait(what string, done func() bool) {
	w.h.t.Helper()
	wait(w.h.t, what, done)
}

func wait(t testing.TB, what string, done func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if done() {
			return
		}
	}
	require.Failf(t, "it never came to that", "%s", what)
}

func (w *wall) press(names ...string) {
	_, err := io.WriteString(w.box, strings.Join(names, "\n")+"\n")
	require.NoError(w.h.t, err)
}

// until presses again and again until an entry of a kind is in the log, and
// gives its line. What was logged before the last one found is passed over.
func (w *wall) until(kind string, presses ...string) string {
	w.h.t.Helper()
	found := ""
	w.wait(kind, func() bool {
		if len(presses) > 0 {
			w.press(presses...)
		}
		records, err := w.reader.After(w.at, 1000)
		require.NoError(w.h.t, err)
		for _, r := range records {
			w.at = r.Position
			var e struct{ Kind string }
			require.NoError(w.h.t, json.Unmarshal(r.Line, &e))
			if e.Kind == kind {
				found = string(r.Line)
				return true
			}
		}
		return false
	})
	return found
}

// lines is the whole log of the station.
func (w *wall) lines() []string {
	out := w.h.run("", "station", "journal", "--data", w.data, "--jsonl")
	return strings.Split(strings.TrimSpace(out), "\n")
}

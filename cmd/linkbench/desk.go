package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
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
	"syscall"
	"time"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

const password = "three plain words here"

// deskProcess is the real desk, serving.
type deskProcess struct {
	cmd  *exec.Cmd
	data string
	url  string
	// beside works on the same folder while the desk serves it.
	beside *desk.Desk
	store  *store.Store
}

// startDesk builds the desk where none is named, and serves a new folder.
func startDesk(ctx context.Context, program, dir string) (*deskProcess, error) {
	if program == "" {
		program = filepath.Join(dir, "desk-program")
		if out, err := exec.CommandContext(ctx, "go", "build", "-o", program, "evenbell/cmd/desk").CombinedOutput(); err != nil {
			return nil, fmt.Errorf("building the desk: %w: %s", err, out)
		}
	}
	size, err := os.Stat(program)
	if err != nil {
		return nil, err
	}
	fmt.Printf("program: %.1f MB\n", float64(size.Size())/1e6)
	d := &deskProcess{data: filepath.Join(dir, "data")}
	if d.store, err = store.Open(ctx, d.data); err != nil {
		return nil, err
	}
	key, err := desk.OpenKey(ctx, d.store)
	if err != nil {
		return nil, err
	}
	d.beside = desk.New(desk.Config{Store: d.store, Fingerprint: key.Fingerprint()})
	if _, err := d.beside.AddStaff(ctx, desk.AtConsole("linkbench"), "R. Okafor", store.Supervisor, password); err != nil {
		return nil, err
	}
	d.cmd = exec.CommandContext(ctx, program, "serve", "--data", d.data, "--addr", "127.0.0.1:0")
	logs, err := os.Create(filepath.Join(dir, "desk.log"))
	if err != nil {
		return nil, err
	}
	defer logs.Close()
	d.cmd.Stderr = logs
	out, err := d.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := d.cmd.Start(); err != nil {
		return nil, err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return nil, fmt.Errorf("the desk does not serve: %w", err)
	}
	d.url = strings.TrimSpace(strings.TrimPrefix(line, "serving "))
	return d, nil
}

func (d *deskProcess) stop() {
	_ = d.cmd.Process.Signal(os.Interrupt) // it may have ended
	_ = d.cmd.Wait()
	_ = d.store.Close()
}

// memory is the desk's resident memory now and at most, in MB.
func (d *deskProcess) memory() (now, most float64, err error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", d.cmd.Process.Pid))
	if err != nil {
		return 0, 0, err
	}
	for line := range strings.Lines(string(text)) {
		var kb float64
		if n, _ := fmt.Sscanf(line, "VmRSS: %f kB", &kb); n == 1 {
			now = kb / 1000
		}
		if n, _ := fmt.Sscanf(line, "VmHWM: %f kB", &kb); n == 1 {
			most = kb / 1000
		}
	}
	return now, most, nil
}

// work is how long the desk has worked on its processors.
func (d *deskProcess) work() time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", d.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	_, after, _ := strings.Cut(string(text), ") ") // of the program's name
	field := strings.Fields(after)
	if len(field) < 13 {
		return 0
	}
	var user, system int64
	_, _ = fmt.Sscan(field[11]+" "+field[12], &user, &system) // numbers, by the kernel's word
	return time.Duration(user+system) * time.Second / ticks
}

// ticks is how many parts of a second the kernel tells of: USER_HZ, 100 on every
// architecture there is a desk for.
const ticks = 100

// ownWork is how long this process, which the stations are in, has worked.
func ownWork() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u) // it never fails
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// entries is how many entries the desk has.
func (d *deskProcess) entries(ctx context.Context) (n int64, err error) {
	all, err := d.store.Moved(ctx, 0)
	for _, e := range all {
		n += e.Mark
	}
	return n, err
}

// browser is a member of staff with the page of who needs somebody open.
type browser struct {
	body io.ReadCloser
	seen chan string // what came, a line at a time
}

// open logs in and listens to the page's news.
func (d *deskProcess) open(ctx context.Context) (*browser, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, err
	}
	c := &http.Client{Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, ForceAttemptHTTP2: true,
		DialContext: (&net.Dialer{}).DialContext}}
	in, err := c.PostForm(d.url+"/login", url.Values{"name": {"R. Okafor"}, "password": {password}})
	if err != nil {
		return nil, err
	}
	in.Body.Close()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, d.url+"/live?page=now&at=%2Fnow", nil)
	if err != nil {
		return nil, err
	}
	live, err := c.Do(r)
	if err != nil {
		return nil, err
	}
	if live.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("the page's news: %s", live.Status)
	}
	b := &browser{body: live.Body, seen: make(chan string, 1000)}
	go b.listen()
	return b, nil
}

func (b *browser) listen() {
	defer close(b.seen)
	s := bufio.NewScanner(b.body)
	s.Buffer(nil, 64<<20)
	for s.Scan() {
		if bytes.HasPrefix(s.Bytes(), []byte("data:")) {
			b.seen <- s.Text()
		}
	}
}

// until waits until something with a word in it has come.
func (b *browser) until(word string, within time.Duration) bool {
	end := time.After(within)
	for {
		select {
		case line, ok := <-b.seen:
			if !ok {
				return false
			}
			if strings.Contains(line, word) {
				return true
			}
		case <-end:
			return false
		}
	}
}

package web

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/audio/speech"
	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// password is everybody's in tests.
const password = "quiet harbour lantern"

// clinic is a desk over a store of its own, with its pages on a server, and one
// member of staff of each role.
type clinic struct {
	t      testing.TB
	store  *store.Store
	desk   *desk.Desk
	site   *Site
	server *httptest.Server
	link   *desk.Link
	peers  map[string]link.Peer
	said   int64 // how much the stations have said
	// ahead is how much later than the machine's clock it is there, in
	// nanoseconds.
	ahead atomic.Int64
}

// staffed are the names of who works there.
var staffed = map[store.Role]string{store.Supervisor: "R. Okafor", store.Assistant: "Mo Lind", store.Admin: "Sam Ives"}

// lengths gives a station a minute to say hello, and two for each exercise.
func lengths(_ string, who coach.Programme) (lead, total time.Duration, err error) {
	return time.Minute, time.Duration(1+2*len(who.Items)) * time.Minute, nil
}

func newClinic(t testing.TB) *clinic {
	t.Helper()
	c := &clinic{t: t, peers: map[string]link.Peer{}}
	var err error
	c.store, err = store.Open(t.Context(), t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.store.Close() })
	c.desk = desk.New(desk.Config{Store: c.store, Now: func() time.Time { return time.Now().Add(time.Duration(c.ahead.Load())) },
		Length: lengths, Recorder: lineRecorder{}})
	c.link = c.desk.Link()
	for role, name := range staffed {
		_, err := c.desk.AddStaff(t.Context(), desk.AtConsole("test"), name, role, password)
		require.NoError(t, err)
	}
	c.site, err = New(Options{Desk: c.desk, Plain: true})
	require.NoError(t, err)
	c.site.beat, c.site.look = 100*time.Millisecond, 30*time.Millisecond
	c.server = httptest.NewServer(c.site)
	t.Cleanup(c.server.Close)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); _ = c.desk.Run(ctx) }()
	t.Cleanup(func() { stop(); <-done })
	return c
}

// lineRecorder makes lines as the desk's program does, of one voice.
type lineRecorder struct{}

func (lineRecorder) Fits(voice, text string) (string, time.Duration, error) {
	if voice != "en" {
		return "", 0, fmt.Errorf("no voice %s", voice)
	}
	return "en", time.Second + time.Duration(len(text))*100*time.Millisecond, nil
}

func (lineRecorder) Line(text string, file []byte) ([]byte, time.Duration, error) {
	pcm, err := speech.Line(file, speech.Rate+speech.Rate/10*len(text))
	return speech.WAV(pcm), time.Duration(len(pcm)) * time.Second / speech.Rate, err
}

// as is the actor of a role.
func (c *clinic) as(role store.Role) desk.Actor {
	m, err := c.store.StaffByName(c.t.Context(), staffed[role])
	require.NoError(c.t, err)
	return desk.Actor{ID: m.ID, Name: m.Name, Role: m.Role}
}

// browser is somebody's browser without scripts.
type browser struct {
	t    testing.TB
	base string
	http *http.Client
}

// stranger is a browser nobody has logged in on. It does not follow to another
// page by itself.
func (c *clinic) stranger() *browser {
	jar, err := cookiejar.New(nil)
	require.NoError(c.t, err)
	return &browser{t: c.t, base: c.server.URL, http: &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// browser is one that a member of staff of the role has logged in on.
func (c *clinic) browser(role store.Role) *browser {
	b := c.stranger()
	a := b.post("/login", "name", staffed[role], "password", password)
	require.Equal(c.t, http.StatusSeeOther, a.status, a.body)
	return b
}

// answer is what a page answered.
type answer struct {
	status int
	to     string // where it sends the browser
	body   string
	header http.Header
}

func (b *browser) get(path string) answer {
	r, err := http.NewRequest(http.MethodGet, b.base+path, nil)
	require.NoError(b.t, err)
	return b.do(r)
}

// post sends a form of pairs of name and value, as a page of ours does.
func (b *browser) post(path string, pairs ...string) answer {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	r, err := http.NewRequest(http.MethodPost, b.base+path, strings.NewReader(v.Encode()))
	require.NoError(b.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.do(r)
}

func (b *browser) do(r *http.Request) answer {
	res, err := b.http.Do(r)
	require.NoError(b.t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(b.t, err)
	return answer{res.StatusCode, res.Header.Get("Location"), string(body), res.Header}
}

// station is a device that a code has let in, and speaks.
func (c *clinic) station(name string) link.Peer {
	c.t.Helper()
	if p, ok := c.peers[name]; ok {
		return p
	}
	code, _, _, err := c.desk.Code(c.t.Context(), c.as(store.Admin), name)
	require.NoError(c.t, err)
	key := fmt.Sprintf("%064x", len(c.peers)+1)
	_, err = c.link.Enrol(c.t.Context(), key, "192.0.2.7", func(open string) bool { return open == code })
	require.NoError(c.t, err)
	p, err := c.link.Station(c.t.Context(), key)
	require.NoError(c.t, err)
	c.peers[name] = p
	c.says(name, nil)
	return p
}

// says lets a station say how it is; nil for nothing going on.
func (c *clinic) says(name string, session *link.SessionStatus) {
	c.t.Helper()
	p := c.station(name)
	c.said++
	wall := c.desk.Time()
	volume := -3.0
	s := link.Status{Program: "5f0c2a9be177", Boot: "boot-" + name, MonoNS: c.said * int64(time.Second), Wall: &wall, Trusted: true,
		Unsent: 0, VolumeDB: volume, Voice: "en", Sound: "silent", Space: 400, Reads: []string{"day-plan/1"}, Session: session}
	require.NoError(c.t, c.link.Status(c.t.Context(), p, s))
}

// stop lets somebody press stop at a station.
func (c *clinic) stop(name, tag string) {
	c.t.Helper()
	p := c.station(name)
	c.said++
	wall := c.desk.Time()
	e := coach.Entry{Epoch: "e-" + name, Seq: c.said, Boot: "boot-" + name, MonoNS: c.said * int64(time.Second), Wall: &wall, Sample: 480000, Session: "s-" + name, Kind: coach.EntryStop, Tag: tag}
	require.NoError(c.t, c.link.Raise(c.t.Context(), p, link.Urgent{Entry: e, Boot: e.Boot, MonoNS: e.MonoNS}))
}

// locked lets a station say that its newest stop holds it.
func (c *clinic) locked(name string) {
	c.t.Helper()
	open, err := c.store.OpenAttentions(c.t.Context())
	require.NoError(c.t, err)
	p := c.station(name)
	for _, a := range open {
		if a.Station != p.ID {
			continue
		}
		c.said++
		wall := c.desk.Time()
		require.NoError(c.t, c.link.Status(c.t.Context(), p, link.Status{Program: "5f0c2a9be177", Boot: "boot-" + name, MonoNS: c.said * int64(time.Second), Wall: &wall,
			Reads: []string{"day-plan/1"}, Locked: &link.Position{Epoch: a.Entry.Epoch, Seq: a.Entry.Seq}}))
		return
	}
	require.Fail(c.t, "nobody has pressed stop there", name)
}

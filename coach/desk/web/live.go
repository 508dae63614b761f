package web

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"net/http"
	"net/url"
	"time"

	"evenbell/coach/desk"
)

// livePage is a page with blocks that are sent anew whenever they change. A
// block is a template "block-NAME" of the page's file, given what Data gives.
type livePage struct {
	Does   desk.Action // as the page's own line in the permission table
	Blocks []string
	Data   func(*visit) (any, error)
}

// livePages are the pages with blocks of their own; on all others only the
// strip of alarms is live.
func livePages() map[string]livePage {
	return map[string]livePage{
		"now":          {desk.SeeNow, []string{"needs", "places", "rest"}, nowData},
		"attention":    {desk.SeeNow, []string{"known", "after"}, attentionData},
		"day":          {desk.SeePatients, []string{"comers"}, dayData},
		"class":        {desk.RunClass, []string{"class"}, classData},
		"stations":     {desk.SeeNow, []string{"stations"}, stationsData},
		"station-code": {desk.ManageStations, []string{"code"}, codeData},
	}
}

const (
	// beatEvery lets a page tell silence from nothing new.
	beatEvery = 3 * time.Second
	// comeBack is how soon a browser asks again after a break.
	comeBack = 500 * time.Millisecond
	// gap joins what changes quickly; an alarm does not wait for it.
	gap = 250 * time.Millisecond
	// writeWithin gives up on a browser that takes nothing more.
	writeWithin = 15 * time.Second
	// lookEvery is how often a stream asks whether its login still stands.
	lookEvery = 30 * time.Second
)

// stream is one browser's ear.
type stream struct {
	*visit
	page string
	sent map[string]string // what each block was when it was last sent
	out  *http.ResponseController
}

// live serves news: each block of the page that has changed, and beats. It ends
// with the browser or with the login.
func live(v *visit) error {
	at, err := url.Parse(v.r.URL.Query().Get("at"))
	if err != nil || !local(at.String()) {
		return &problem{http.StatusBadRequest, "That could not be read", "Reload the page."}
	}
	if !v.site.streams.open(v.secret) {
		return &problem{http.StatusTooManyRequests, "Too many pages are open", "Close some of them and reload this one."}
	}
	defer v.site.streams.close(v.secret)
	s := &stream{visit: v, page: v.r.URL.Query().Get("page"), sent: map[string]string{}, out: http.NewResponseController(v.w)}
	v.r = v.r.Clone(v.r.Context())
	v.r.URL = at
	h := v.w.Header()
	h.Set("Content-Type", "text/event-stream; charset=utf-8")
	h.Set("X-Accel-Buffering", "no") // a proxy must not collect news
	// A server that bounds how long a request may take does not mean this one.
	if err := s.out.SetReadDeadline(time.Time{}); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return fmt.Errorf("opening a page's news: %w", err)
	}
	if _, err := fmt.Fprintf(v.w, "retry: %d\n\n", comeBack.Milliseconds()); err != nil {
		return nil // the reader has gone
	}
	events := v.desk().Watch(v.ctx())
	if err := s.news(v.r.Header.Get("Last-Event-ID")); err != nil {
		return err
	}
	s.follow(events)
	return nil // what went wrong later can't become a page any more
}

// follow sends until the browser is gone or the login is over.
func (s *stream) follow(events <-chan desk.Event) {
	beat := time.NewTicker(s.site.beat)
	defer beat.Stop()
	look := time.NewTicker(s.site.look)
	defer look.Stop()
	var soon <-chan time.Time
	for {
		var err error
		select {
		case <-s.ctx().Done():
			return
		case e, ok := <-events:
			switch {
			case !ok:
				return
			case e.Loud:
				soon, err = nil, s.news("")
			case soon == nil:
				soon = time.After(gap)
			}
		case <-soon:
			soon, err = nil, s.news("")
		case <-beat.C:
			err = s.send("beat", "", []byte(fmt.Sprint(s.desk().Time().UnixMilli())))
		case <-look.C:
			if err = s.still(); errors.Is(err, desk.ErrNotLoggedIn) {
				_ = s.send("over", "", []byte("log in again")) // it ends in any case
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// still reports whether the login stands. Having the page of who needs somebody
// open is using the desk: its alarm must not fall silent because nothing
// happened for half an hour, and it names no patient. Any other page is idle
// while nobody touches it.
func (s *stream) still() error {
	ask := s.desk().StillLoggedIn
	if s.page == "now" {
		ask = s.desk().LoggedIn
	}
	_, err := ask(s.ctx(), s.secret)
	return err
}

// news sends the blocks that are not what the browser has; last is the id of
// what it saw last, if it comes back after a break.
func (s *stream) news(last string) error {
	s.now = s.desk().Time().In(s.site.zone.Load())
	blocks, err := s.blocks()
	if err != nil {
		return err
	}
	sum := fnv.New64a()
	for _, b := range blocks {
		fmt.Fprintf(sum, "%s\x00%s\x00", b.Name, b.HTML)
	}
	id := hex.EncodeToString(sum.Sum(nil))
	for _, b := range blocks {
		before, known := s.sent[b.Name]
		changed := !known || before != b.HTML
		s.sent[b.Name] = b.HTML
		if !changed || id == last {
			continue
		}
		data, err := json.Marshal(b)
		if err != nil {
			return fmt.Errorf("writing block %s: %w", b.Name, err)
		}
		if err := s.send("block", id, data); err != nil {
			return err
		}
	}
	return s.send("beat", "", []byte(fmt.Sprint(s.now.UnixMilli())))
}

// block is one part of a page as it is now.
type block struct {
	Name string `json:"name"`
	HTML string `json:"html"`
}

// blocks are the page's blocks and the strip.
func (s *stream) blocks() ([]block, error) {
	strip, err := s.strip(s.page)
	if err != nil {
		return nil, err
	}
	out := []block{}
	add := func(template, name string, data any) error {
		var b bytes.Buffer
		t, ok := s.site.templates[template]
		if !ok {
			return fmt.Errorf("no page is called %s", template)
		}
		if err := t.ExecuteTemplate(&b, name, data); err != nil {
			return fmt.Errorf("writing %s: %w", name, err)
		}
		out = append(out, block{name, b.String()})
		return nil
	}
	if err := add("problem", "strip", strip); err != nil {
		return nil, err
	}
	p, ok := s.site.livePages[s.page]
	if !ok || !s.who.May(p.Does) {
		return out, nil
	}
	data, err := p.Data(s.visit)
	if err != nil {
		return nil, err
	}
	for _, name := range p.Blocks {
		if err := add(s.page, "block-"+name, data); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (s *stream) send(event, id string, data []byte) error {
	var b bytes.Buffer
	if id != "" {
		fmt.Fprintf(&b, "id: %s\n", id)
	}
	fmt.Fprintf(&b, "event: %s\ndata: %s\n\n", event, data)
	if err := s.out.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return fmt.Errorf("sending news: %w", err)
	}
	if _, err := s.w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("sending news: %w", err)
	}
	if err := s.out.Flush(); err != nil {
		return fmt.Errorf("sending news: %w", err)
	}
	return nil
}

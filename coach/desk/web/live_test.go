package web

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// patience is how long tests wait for what must come; machines are busy.
const patience = 60 * time.Second

// heard is one piece of news.
type heard struct{ event, id, data string }

// ear listens to a page's news.
type ear struct {
	t    testing.TB
	news chan heard
}

func listen(ctx context.Context, t testing.TB, b *browser, page, at, last string) *ear {
	t.Helper()
	q := url.Values{"page": {page}, "at": {at}}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, b.base+"/live?"+q.Encode(), nil)
	require.NoError(t, err)
	if last != "" {
		r.Header.Set("Last-Event-ID", last)
	}
	res, err := b.http.Do(r)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, res.StatusCode)
	require.Equal(t, "text/event-stream; charset=utf-8", res.Header.Get("Content-Type"))
	e := &ear{t: t, news: make(chan heard, 100)}
	go func() {
		defer close(e.news)
		defer res.Body.Close()
		var now heard
		lines := bufio.NewScanner(res.Body)
		lines.Buffer(nil, 1<<20)
		for lines.Scan() {
			key, value, _ := strings.Cut(lines.Text(), ": ")
			switch key {
			case "event":
				now.event = value
			case "id":
				now.id = value
			case "data":
				now.data = value
			case "":
				if now.event == "" {
					continue // how soon to come back after a break
				}
				select {
				case e.news <- now:
				case <-ctx.Done():
					return
				}
				now = heard{}
			}
		}
	}()
	return e
}

// until is all news up to the first of an event, that one included.
func (e *ear) until(event string) (all []heard) {
	e.t.Helper()
	deadline := time.After(patience)
	for {
		select {
		case h, ok := <-e.news:
			require.True(e.t, ok, "the news ended before %s; %v", event, all)
			all = append(all, h)
			if h.event == event {
				return all
			}
		case <-deadline:
			require.Fail(e.t, "no news", "waiting for %s", event)
		}
	}
}

// block waits for a block that says something.
func (e *ear) block(name, words string) block {
	e.t.Helper()
	deadline := time.Now().Add(patience)
	for time.Now().Before(deadline) {
		all := e.until("block")
		var b block
		require.NoError(e.t, json.Unmarshal([]byte(all[len(all)-1].data), &b))
		if b.Name == name && strings.Contains(b.HTML, words) {
			return b
		}
	}
	require.Fail(e.t, "no such block", "%s with %q", name, words)
	return block{}
}

func TestNewsIsWholeAtFirstAndOnlyWhatChangedAfterwards(t *testing.T) {
	c := newClinic(t)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	ear := listen(ctx, t, c.browser(store.Supervisor), "now", "/now", "")
	names := map[string]bool{}
	last := ""
	for _, h := range ear.until("beat") {
		if h.event == "block" {
			var b block
			require.NoError(t, json.Unmarshal([]byte(h.data), &b))
			names[b.Name], last = true, h.id
		}
	}
	assert.Equal(t, map[string]bool{"strip": true, "block-needs": true, "block-places": true, "block-rest": true}, names)

	// Who comes back and has seen it all gets nothing twice.
	again := listen(ctx, t, c.browser(store.Supervisor), "now", "/now", last)
	assert.Len(t, again.until("beat"), 1)

	c.stop("Bay 1", "K4")
	b := ear.block("block-needs", "Stop: K4 at Bay 1")
	assert.Contains(t, b.HTML, "I am going")
	again.block("block-needs", "Stop: K4 at Bay 1")
}

func TestNewsEndsWithTheLogin(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Assistant)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	ear := listen(ctx, t, b, "now", "/now", "")
	ear.until("beat")
	require.Equal(t, http.StatusSeeOther, b.post("/logout").status)
	ear.until("over")
	_, more := <-ear.news
	assert.False(t, more, "nothing comes after it")
}

// The page with the alarm keeps its login; a page with names on it does not.
func TestOnlyThePageOfWhoNeedsSomebodyKeepsTheLogin(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	now := listen(ctx, t, b, "now", "/now", "")
	for range 3 {
		c.ahead.Add(int64(20 * time.Minute))
		// Several looks at the login, each at the new time.
		for range 2 {
			now.until("beat")
		}
	}
	assert.Equal(t, http.StatusOK, b.get("/now").status, "an hour later, and nobody touched it")

	day := listen(ctx, t, c.browser(store.Supervisor), "day", "/day", "")
	day.until("beat")
	c.ahead.Add(int64(31 * time.Minute))
	day.until("over")
}

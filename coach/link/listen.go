package link

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"strconv"
	"time"
)

// listen keeps the stream down.
func (c *Client) listen(ctx context.Context) {
	for ctx.Err() == nil {
		err := c.listenOnce(ctx)
		if ctx.Err() != nil {
			return // this end goes away; nobody lost the desk
		}
		c.setUp(false)
		c.down.drop()
		_ = c.down.note(ctx, err)
		c.down.pause(ctx)
	}
}

// listenOnce follows one stream to its end; the error is why it ended.
func (c *Client) listenOnce(ctx context.Context) error {
	l, err := c.down.connection(ctx)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	silent := time.AfterFunc(Silence, func() { cancel(errSilent) })
	defer silent.Stop()
	answer, err := l.start(ctx, http.MethodGet, "/link/1/down", nil)
	if err != nil {
		return because(ctx, err)
	}
	defer answer.Body.Close()
	for in := bufio.NewReader(answer.Body); ; {
		text, err := readLine(in)
		if err != nil {
			return because(ctx, fmt.Errorf("the desk's stream ended: %w", err))
		}
		silent.Reset(Silence)
		var s State
		if len(text) > 0 {
			if err := received(text, &s); err != nil {
				return fmt.Errorf("what the desk says can't be read; it may be newer than this station: %w", err)
			}
		}
		if !c.Up() {
			_ = c.down.note(ctx, nil)
			c.setUp(true)
		}
		if len(text) > 0 {
			c.take(s)
		}
	}
}

var errSilent = errors.New("the desk has fallen silent")

// because is err, or why what it came from was cancelled.
func because(ctx context.Context, err error) error {
	if cause := context.Cause(ctx); errors.Is(cause, errSilent) {
		return cause
	}
	return err
}

// take notes what the desk says.
func (c *Client) take(s State) {
	c.mu.Lock()
	before := c.state
	c.state = s
	c.mu.Unlock()
	if !reflect.DeepEqual([]any{before.Holds, before.Clears, before.Release}, []any{s.Holds, s.Clears, s.Release}) {
		if err := c.Plans.Spoke(s.Now); err != nil {
			c.Log.Error("when the desk spoke can't be kept", "error", err)
		}
	}
	signal(c.planned)
	c.Told(s)
}

// fetch gets what the desk speaks of and the station lacks.
func (c *Client) fetch(ctx context.Context) {
	for tries := 0; ; {
		select {
		case <-ctx.Done():
			return
		case <-c.planned:
		}
		for ctx.Err() == nil {
			more, err := c.fetchNext(ctx, tries)
			if err != nil {
				tries++
				c.plan.pause(ctx)
			} else if !more {
				break
			}
		}
	}
}

// fetchNext gets one thing: the plan, where the desk speaks of another than the
// one that is kept, else a recording; false where nothing is lacking. After a
// failure another recording is tried first.
func (c *Client) fetchNext(ctx context.Context, tries int) (bool, error) {
	s, known := c.State()
	switch {
	case !known, s.KeepPlan: // and what belongs to it
		return false, nil
	case s.PlanHash != c.Plans.Has():
		err := c.fetchPlan(ctx, s)
		if err == nil {
			c.Told(s) // again: now the plan it speaks of is here
			c.Changed()
		}
		return true, err
	case c.Recordings == nil:
		return false, nil
	}
	if err := c.Recordings.Only(s.Recordings); err != nil {
		return false, c.plan.note(ctx, err)
	}
	lacking := c.Recordings.Lacks(s.Recordings)
	if len(lacking) == 0 {
		return false, nil
	}
	return true, c.fetchRecording(ctx, lacking[tries%len(lacking)])
}

func (c *Client) fetchPlan(ctx context.Context, s State) error {
	if s.Plan == 0 {
		return c.plan.note(ctx, c.Plans.Keep(Plan{}, s.Now))
	}
	var p Plan
	ask := "/link/1/plan?" + url.Values{"version": {strconv.FormatInt(s.Plan, 10)}}.Encode()
	if err := c.plan.ask(ctx, 2*Silence, http.MethodGet, ask, nil, &p); err != nil {
		return err
	}
	if p.Version != s.Plan || p.Hash() != s.PlanHash {
		return c.plan.note(ctx, fmt.Errorf("the desk's plan %d is not the one it spoke of", s.Plan))
	}
	return c.plan.note(ctx, c.Plans.Keep(p, s.Now))
}

func (c *Client) fetchRecording(ctx context.Context, hash string) error {
	var r Recording
	ask := "/link/1/recording?" + url.Values{"hash": {hash}}.Encode()
	if err := c.plan.ask(ctx, toSend, http.MethodGet, ask, nil, &r); err != nil {
		return err
	}
	if r.Hash() != hash {
		return c.plan.note(ctx, fmt.Errorf("the desk's recording %s is not the one it spoke of", hash))
	}
	return c.plan.note(ctx, c.Recordings.Keep(r))
}

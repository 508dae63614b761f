package link

import (
	"bytes"
	"context"
	"errors"
	"net/http"

	"evenbell/coach/journal"
)

// lookAtOnce is how many entries of a backlog are looked through before what
// was just logged is looked at again.
const lookAtOnce = 1000

// raise sends urgent entries at once, newest first, until the desk has each of
// them.
func (c *Client) raise(ctx context.Context) {
	r := &raiser{c: c, reader: lazyReader{open: c.Open}}
	defer r.reader.close()
	for ctx.Err() == nil {
		err := r.look()
		if err != nil {
			r.reader.close()
			_ = c.alert.note(ctx, err)
			c.alert.pause(ctx)
			continue
		}
		if r.send(ctx) != nil {
			c.alert.pause(ctx)
		} else if !r.busy() {
			c.alert.rest(ctx)
		}
	}
}

// raiser knows which urgent entries the desk does not have yet.
type raiser struct {
	c       *Client
	reader  lazyReader
	begun   bool
	fresh   journal.Position // everything after it was logged since the start
	old     journal.Position // how far the backlog has been looked through
	until   journal.Position // where it ends
	looked  bool             // all of the backlog has been
	waiting []journal.Record // of the backlog, oldest first
	now     []journal.Record // logged since the start, oldest first
}

// busy reports whether there is anything to do but wait.
func (r *raiser) busy() bool { return !r.looked || len(r.now)+len(r.waiting) > 0 }

// look looks for urgent entries: at all that was just logged, and at a piece
// of what was there before.
func (r *raiser) look() error {
	log, err := r.reader.get()
	if err != nil {
		return err
	}
	if !r.begun {
		if err := r.begin(log); err != nil {
			return err
		}
	}
	for {
		recs, err := log.After(r.fresh, lookAtOnce)
		if err != nil {
			return err
		}
		for _, rec := range recs {
			r.now = appendUrgent(r.now, rec)
			r.fresh = rec.Position
		}
		if len(recs) < lookAtOnce {
			break
		}
	}
	if !r.looked {
		return r.lookBack(log)
	}
	return nil
}

// begin finds where the log stands, and where what the desk lacks begins.
func (r *raiser) begin(log LogReader) error {
	head, err := log.Head()
	if err != nil {
		return err
	}
	s, err := log.Unsent(1)
	if err != nil {
		return err
	}
	r.fresh, r.until, r.old, r.looked, r.begun = head, head, s.Position, s.Epoch == "", true
	return nil
}

// lookBack looks through a piece of the backlog.
func (r *raiser) lookBack(log LogReader) error {
	recs, err := log.After(r.old, lookAtOnce)
	if err != nil {
		return err
	}
	for _, rec := range recs {
		r.waiting = appendUrgent(r.waiting, rec)
		if r.old = rec.Position; r.old == r.until {
			r.looked = true
			return nil
		}
	}
	r.looked = len(recs) < lookAtOnce
	return nil
}

func appendUrgent(to []journal.Record, rec journal.Record) []journal.Record {
	e, err := rec.Entry()
	if err != nil || !IsUrgent(e) {
		return to // a damaged line stops the upload, which says so
	}
	return append(to, rec)
}

// send sends the newest one that waits; those of the backlog once all of it is
// known.
func (r *raiser) send(ctx context.Context) error {
	queue := &r.now
	if len(r.now) == 0 && r.looked {
		queue = &r.waiting
	}
	if len(*queue) == 0 {
		return nil
	}
	last := len(*queue) - 1
	rec := (*queue)[last]
	if !r.c.has(rec.Position) {
		err := r.sendOne(ctx, rec)
		refused := (*Refused)(nil)
		if err != nil && (!errors.As(err, &refused) || refused.Status/100 == 5 || refused.kind != nil) {
			return err
		}
		// What the desk can't take as it is comes to it with the log all the same.
	}
	*queue = (*queue)[:last]
	return nil
}

func (r *raiser) sendOne(ctx context.Context, rec journal.Record) error {
	var text bytes.Buffer
	u := Urgent{Line: rec.Line, Boot: r.c.Boot, MonoNS: journal.BootTime()}
	if err := u.write(&text); err != nil {
		return err
	}
	return r.c.alert.ask(ctx, Silence, http.MethodPost, "/link/1/urgent", text.Bytes(), nil)
}

// has reports whether the desk has said that it has an entry.
func (c *Client) has(p journal.Position) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return p.Seq <= c.acked[p.Epoch]
}

package link

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"evenbell/coach/journal"
)

// gather is how long a little that was logged waits for more.
const gather = 200 * time.Millisecond

// toUpload is how long a batch may take; a dead connection is noticed sooner.
const toUpload = 60 * time.Second

// upload sends the log to the desk, oldest first, and notes what the desk says
// it has.
func (c *Client) upload(ctx context.Context) {
	u := &uploader{c: c, reader: lazyReader{open: c.Open}, size: MaxBatch}
	defer u.reader.close()
	for ctx.Err() == nil {
		more, err := u.step(ctx)
		switch {
		case errors.Is(err, ErrChain):
			c.backlog.sleep(ctx, c.backlog.most) // people must look at it; a stop goes its own way
		case err != nil:
			u.size = max(u.size/2, smallest)
			c.backlog.pause(ctx)
		case !more:
			u.await(ctx)
		}
	}
}

// smallest is the size to which batches shrink on a network that drops them.
const smallest = 10

type uploader struct {
	c      *Client
	reader lazyReader
	size   int   // records in the next batch
	asked  int64 // for the marks, on which connection
}

// await waits until there may be something to send.
func (u *uploader) await(ctx context.Context) {
	select {
	case <-ctx.Done():
	case <-u.c.backlog.wake:
	case <-u.c.logged:
		t := time.NewTimer(gather)
		defer t.Stop()
		select {
		case <-ctx.Done():
		case <-t.C:
		}
	}
}

// step sends one batch; more is false where there was none.
func (u *uploader) step(ctx context.Context) (more bool, err error) {
	log, err := u.reader.get()
	if err != nil {
		return false, u.c.backlog.note(ctx, err)
	}
	if now := u.c.times(); now != u.asked {
		if err := u.compare(ctx, log); err != nil {
			return false, err
		}
		u.asked = now
	}
	s, err := log.Unsent(u.size)
	if err != nil {
		u.reader.close()
		return false, u.c.backlog.note(ctx, err)
	}
	if s.Epoch == "" {
		return false, nil
	}
	b := batchOf(s)
	var text bytes.Buffer
	if err := b.write(&text); err != nil {
		return false, u.c.backlog.note(ctx, err)
	}
	var m Mark
	if err := u.c.backlog.ask(ctx, toUpload, http.MethodPost, "/link/1/entries", text.Bytes(), &m); err != nil {
		return false, err
	}
	u.size = min(2*u.size, MaxBatch)
	return true, u.c.backlog.note(ctx, u.settle(b, m))
}

// batchOf is the batch of a stretch, no larger than is good.
func batchOf(s journal.Stretch) Batch {
	b := Batch{Epoch: s.Epoch, After: s.Seq, Before: s.Before, Gone: s.Gone}
	size := 0
	for _, r := range s.Records {
		if size += len(r.Line) + 1; size > fullBatch && len(b.Records) > 0 {
			break
		}
		b.Records = append(b.Records, r)
	}
	return b
}

// settle notes the desk's answer to a batch.
func (u *uploader) settle(b Batch, m Mark) error {
	if len(b.Records) == 0 && m.Epoch == b.Epoch {
		return u.c.Marker.Acknowledge(journal.Position{Epoch: b.Epoch, Seq: b.End()}) // the desk was told; there is no more to send
	}
	if m.Epoch != b.Epoch || m.Seq < 0 || b.Gone && m.Seq < b.End() {
		return fmt.Errorf("the desk answers with %s %d to entries %d to %d of %s", m.Epoch, m.Seq, b.After+1, b.End(), b.Epoch)
	}
	if m.Seq == b.After && !b.Gone {
		return fmt.Errorf("the desk took none of the entries %d to %d of %s", b.After+1, b.End(), b.Epoch)
	}
	return u.mark(m, b.After, b.End())
}

// mark notes that the desk has an epoch up to m, where this end thought that
// it had it up to acked, and has itself sent it up to end.
func (u *uploader) mark(m Mark, acked, end int64) error {
	u.c.mu.Lock()
	u.c.acked[m.Epoch] = m.Seq
	u.c.mu.Unlock()
	at := journal.Position{Epoch: m.Epoch, Seq: m.Seq}
	switch {
	case m.Seq < acked:
		u.c.Log.Warn("the desk has less of the log than it had; it is sent again", "epoch", m.Epoch, "from", m.Seq+1)
		return u.c.Marker.Rewind(at)
	case m.Seq > end:
		// The desk has more than this end has sent on this card: an old image of
		// it was put back. What it lacks it can't have.
		at.Seq = end
	}
	return u.c.Marker.Acknowledge(at)
}

// compare asks what the desk has of every epoch of which it once had
// something, for it may have been put back from a backup since.
func (u *uploader) compare(ctx context.Context, log LogReader) error {
	all, err := log.Acknowledged()
	if err != nil {
		u.reader.close()
		return u.c.backlog.note(ctx, err)
	}
	var had []journal.Position
	for _, p := range all {
		if p.Seq > 0 {
			had = append(had, p)
		}
	}
	for len(had) > 0 {
		some := had[max(0, len(had)-MaxEpochs):]
		had = had[:len(had)-len(some)]
		if err := u.compareSome(ctx, some); err != nil {
			return err
		}
	}
	return nil
}

func (u *uploader) compareSome(ctx context.Context, had []journal.Position) error {
	var asked MarksAsked
	for _, p := range had {
		asked.Epochs = append(asked.Epochs, p.Epoch)
	}
	var got Marks
	if err := u.c.backlog.ask(ctx, 2*Silence, http.MethodPost, "/link/1/marks", asJSON(asked), &got); err != nil {
		return err
	}
	if len(got.Marks) != len(had) {
		return u.c.backlog.note(ctx, fmt.Errorf("the desk answers with %d marks to %d epochs", len(got.Marks), len(had)))
	}
	for i, m := range got.Marks {
		if m.Epoch != had[i].Epoch {
			return u.c.backlog.note(ctx, fmt.Errorf("the desk answers with the mark of %s for %s", m.Epoch, had[i].Epoch))
		}
		if m.Seq >= had[i].Seq {
			continue
		}
		if err := u.mark(m, had[i].Seq, had[i].Seq); err != nil {
			return u.c.backlog.note(ctx, err)
		}
	}
	return nil
}

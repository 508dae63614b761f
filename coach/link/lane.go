package link

import (
	"context"
	"errors"
	"math/rand/v2"
	"time"
)

// lane is one errand's own connection to the desk, used by one goroutine: what
// is stuck on one is not in the way of another.
type lane struct {
	c        *Client
	name     string
	patience time.Duration // for an answer to a ping
	most     time.Duration // between two tries
	wake     chan struct{} // holds one: look again, or try again now
	line     *line         // nil where there is none yet
	next     time.Duration // before the next try
	said     string        // the trouble last logged
}

// shortest is the wait after the first failure.
const shortest = 100 * time.Millisecond

func (c *Client) lane(name string, patience, most time.Duration) *lane {
	n := &lane{c: c, name: name, patience: patience, most: most, wake: make(chan struct{}, 1), next: shortest}
	c.lanes = append(c.lanes, n)
	return n
}

// connection gives the lane's line, and makes one where there is none. Who the
// station is is read anew each time, for it may have been enrolled meanwhile.
func (n *lane) connection(ctx context.Context) (*line, error) {
	if n.line != nil {
		return n.line, nil
	}
	id, err := ReadIdentity(n.c.Data)
	if err != nil {
		return nil, err
	}
	host, err := n.c.host(ctx, id.Desk)
	if err != nil {
		return nil, err
	}
	l, err := newLine(host, id.Key, func(f string) bool { return f == id.Desk }, n.patience)
	if err != nil {
		return nil, err
	}
	n.line = l
	return l, nil
}

// ask sends a request and reads the answer. Where it fails other than by a
// refusal of the request itself, the connection is given up.
func (n *lane) ask(ctx context.Context, limit time.Duration, method, path string, body []byte, out any) error {
	l, err := n.connection(ctx)
	if err == nil {
		err = l.ask(ctx, limit, method, path, body, out)
	}
	return n.note(ctx, err)
}

// note keeps count of success and failure, and says a new trouble once.
func (n *lane) note(ctx context.Context, err error) error {
	if err == nil {
		if n.said != "" {
			n.c.Log.Info("the desk answers again", "errand", n.name)
			n.c.wakeAll()
		}
		n.next, n.said = shortest, ""
		return nil
	}
	var refused *Refused
	if !errors.As(err, &refused) || errors.Is(err, ErrUnknown) || errors.Is(err, ErrRevoked) {
		n.drop()
	}
	if words := err.Error(); words != n.said && ctx.Err() == nil && !errors.Is(err, ErrNotEnrolled) {
		n.said = words
		n.c.Log.Warn("the desk can't be had", "errand", n.name, "error", err)
	}
	return err
}

// drop gives the connection up.
func (n *lane) drop() {
	if n.line != nil {
		n.line.cut()
		n.line = nil
	}
}

// pause waits before another try: longer each time, and never quite as long as
// the neighbours, so that a hundred stations don't come back at once.
func (n *lane) pause(ctx context.Context) {
	wait := n.next/2 + rand.N(n.next)
	n.next = min(2*n.next, n.most)
	n.sleep(ctx, wait)
}

// sleep waits for a time, or until the lane is woken.
func (n *lane) sleep(ctx context.Context, wait time.Duration) {
	t := time.NewTimer(wait)
	defer t.Stop()
	select {
	case <-t.C:
	case <-n.wake:
	case <-ctx.Done():
	}
}

// rest waits until the lane is woken, and for a minute at most.
func (n *lane) rest(ctx context.Context) { n.sleep(ctx, time.Minute) }

// host is where the desk is. One lane looks for it, and the others take what
// it found.
func (c *Client) host(ctx context.Context, pin string) (string, error) {
	if c.URL != Discovery {
		return hostOf(c.URL)
	}
	c.finding.Lock()
	defer c.finding.Unlock()
	if c.found != "" && time.Since(c.foundAt) < toFind {
		return c.found, nil
	}
	host, err := findDesk(ctx, pin)
	c.found, c.foundAt = host, time.Now()
	return host, err
}

package link

import (
	"context"
	"net/http"
	"time"

	"evenbell/coach/journal"
)

// report says how the station is, again and again.
func (c *Client) report(ctx context.Context) {
	reader := &lazyReader{open: c.Open}
	defer reader.close()
	every := time.NewTicker(alive)
	defer every.Stop()
	for beat := 0; ; beat++ {
		if s := c.Status(); s.Session != nil || beat%2 == 0 {
			c.count(reader)
			if c.reportOnce(ctx, s) != nil {
				c.status.pause(ctx)
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-every.C:
		case <-c.changed:
			beat = -1 // say it now
		}
	}
}

func (c *Client) reportOnce(ctx context.Context, s Status) error {
	c.mu.Lock()
	s.Contact, s.Unsent = c.contact, c.unsent
	c.mu.Unlock()
	before := journal.BootTime()
	s.Boot, s.MonoNS = c.Boot, before
	var met Met
	if err := c.status.ask(ctx, Silence, http.MethodPost, "/link/1/status", asJSON(s), &met); err != nil {
		return err
	}
	half := (journal.BootTime() - before) / 2
	c.mu.Lock()
	c.contact = &Contact{Boot: c.Boot, MonoNS: before + half, At: met.Now, WithinNS: half}
	c.mu.Unlock()
	return nil
}

// count counts what is unsent.
func (c *Client) count(r *lazyReader) {
	log, err := r.get()
	var n int64
	if err == nil {
		n, err = log.CountUnsent()
	}
	if err != nil {
		r.close()
		return // whoever uploads says what is wrong with the log
	}
	c.mu.Lock()
	c.unsent = n
	c.mu.Unlock()
}

// lazyReader is a log that is opened when it is first read, and again after it
// was closed for a fault.
type lazyReader struct {
	open func() (LogReader, error)
	log  LogReader
}

func (r *lazyReader) get() (LogReader, error) {
	if r.log != nil {
		return r.log, nil
	}
	log, err := r.open()
	if err != nil {
		return nil, err
	}
	r.log = log
	return log, nil
}

func (r *lazyReader) close() {
	if r.log != nil {
		_ = r.log.Close() // it was only read
		r.log = nil
	}
}

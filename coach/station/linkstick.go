package station

import (
	"errors"
	"time"

	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// stickEvery is how often the data folder is looked at for what a stick
// brought.
const stickEvery = time.Second

// takeCarried takes what a stick brought, between two sessions.
func (k *desk) takeCarried() bool {
	k.d.mu.Lock()
	busy := k.live.tag != ""
	k.d.mu.Unlock()
	if busy {
		return false
	}
	c, done, ok, err := link.TakeCarried(k.d.Config.Data)
	if err != nil {
		k.d.Log.Error("what a stick brought can't be taken", "error", err)
	}
	if !ok {
		return false
	}
	for _, m := range c.Marks {
		k.d.acknowledge(journal.Position(m))
	}
	k.d.mu.Lock()
	k.carried = &c.State
	k.d.mu.Unlock()
	if err := errors.Join(k.plans.Reload(), done()); err != nil {
		k.d.Log.Error("what a stick brought can't be taken", "error", err)
	}
	return true
}

// acknowledge notes what a stick says of the desk: of epochs that are here, up
// to where they end.
func (d *Device) acknowledge(p journal.Position) {
	recs, err := d.journal.After(journal.Position{Epoch: p.Epoch, Seq: p.Seq - 1}, 1)
	if err == nil && len(recs) == 1 && recs[0].Position == p {
		err = d.journal.Acknowledge(p)
	}
	if err != nil {
		d.Log.Warn("an acknowledgement is not of this log", "epoch", p.Epoch, "seq", p.Seq, "error", err)
	}
}

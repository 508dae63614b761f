package station

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// holds is who is not coached here until a supervisor clears them: a fold over
// the log, so that it outlives power cuts and new plans. What this station
// itself logged holds at once; what the desk says is logged first.
type holds struct {
	open    []hold
	cleared []hold // the desk may still name them, having not heard yet
}

// hold is one reason why a tag is held.
type hold struct {
	tag    string
	reason string
	id     int64            // the desk's number; 0 where it has not said one
	own    journal.Position // the entry here that it came from; zero where it came from elsewhere, or is not on the disk yet
	mono   int64            // when that entry was made; 0 where it came from elsewhere
}

// clearedAtDesk is who cleared a hold of another station's: the desk only no
// longer names it.
const clearedAtDesk = "desk"

// add takes in an entry as it is made.
func (h *holds) add(e coach.Entry) {
	if reason, ok := link.HoldReason(e); ok {
		h.open = append(h.open, hold{tag: e.Tag, reason: string(reason), mono: e.MonoNS})
	}
	switch d := e.Data.(type) {
	case *coach.HoldData:
		h.hold(e.Tag, d)
	case *coach.ClearData:
		h.clear(e.Tag, d)
	}
}

// place takes in where in the log an entry has come to stand.
func (h *holds) place(e coach.Entry) {
	if _, ok := link.HoldReason(e); !ok {
		return
	}
	for _, all := range [][]hold{h.open, h.cleared} {
		for i := range all {
			if all[i].mono == e.MonoNS && all[i].tag == e.Tag {
				all[i].own = journal.Position{Epoch: e.Epoch, Seq: e.Seq}
			}
		}
	}
}

func (h *holds) hold(tag string, d *coach.HoldData) {
	own := journal.Position{Epoch: d.Epoch, Seq: d.Seq}
	for i := range h.open {
		if o := &h.open[i]; own.Epoch != "" && o.own == own {
			o.id = d.ID
			return
		}
	}
	h.open = append(h.open, hold{tag: tag, reason: d.Reason, id: d.ID, own: own})
}

func (h *holds) clear(tag string, d *coach.ClearData) {
	var left []hold
	for _, o := range h.open {
		named := d.ID != 0 && o.id == d.ID || d.Epoch != "" && o.own == journal.Position{Epoch: d.Epoch, Seq: d.Seq}
		switch {
		case o.tag != tag || d.By != coach.ByTelephone && !named:
			left = append(left, o)
		case d.By != clearedAtDesk:
			h.cleared = append(h.cleared, o)
		}
	}
	h.open = left
}

// on reports whether a tag is held.
func (h *holds) on(tag string) bool {
	for _, o := range h.open {
		if o.tag == tag {
			return true
		}
	}
	return false
}

// tags lists who is held, each once, in the order in which they came to be.
func (h *holds) tags() []string {
	out := []string{}
	for i, o := range h.open {
		first := true
		for _, before := range h.open[:i] {
			first = first && before.tag != o.tag
		}
		if first {
			out = append(out, o.tag)
		}
	}
	return out
}

// same reports whether the desk speaks of a hold.
func (o hold) same(id int64, tag string, own *link.Position) bool {
	if own != nil {
		return o.own == journal.Position(*own)
	}
	return o.own.Epoch == "" && o.id == id && o.tag == tag
}

// news is what to log of what the desk says.
func (h *holds) news(s link.State) []coach.Entry {
	var out []coach.Entry
	for _, x := range s.Holds {
		if x.Tag == "" || h.knows(x) {
			continue
		}
		d := &coach.HoldData{ID: x.ID, Reason: string(x.Reason), Since: x.Since.UTC().Truncate(time.Millisecond)}
		if x.Own != nil {
			d.Epoch, d.Seq = x.Own.Epoch, x.Own.Seq
		}
		out = append(out, coach.Entry{Kind: coach.EntryHold, Tag: x.Tag, Data: d})
	}
	for _, o := range h.open {
		if by, ended := o.ended(s); ended {
			out = append(out, coach.Entry{Kind: coach.EntryClear, Tag: o.tag, Data: &coach.ClearData{By: by, ID: o.id, Epoch: o.own.Epoch, Seq: o.own.Seq}})
		}
	}
	return out
}

// knows reports whether a hold of the desk's needs no more noting.
func (h *holds) knows(x link.Hold) bool {
	for _, o := range h.open {
		if o.same(x.ID, x.Tag, x.Own) && o.id == x.ID {
			return true
		}
	}
	for _, o := range h.cleared {
		if o.same(x.ID, x.Tag, x.Own) {
			return true
		}
	}
	return false
}

// ended says who has ended a hold, as far as the desk tells.
func (o hold) ended(s link.State) (by string, ended bool) {
	for _, c := range s.Clears {
		if o.same(c.ID, c.Tag, c.Own) {
			return c.By, true
		}
	}
	if o.own.Epoch != "" || o.id == 0 || s.Partial {
		return "", false // the desk may not have heard of it yet
	}
	for _, x := range s.Holds {
		if o.same(x.ID, x.Tag, x.Own) {
			return "", false
		}
	}
	return clearedAtDesk, true
}

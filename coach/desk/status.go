package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// mayMatter are the kinds of entry that something may follow from.
var mayMatter = map[coach.EntryKind]bool{coach.EntryStop: true, coach.EntryQuestion: true, coach.EntryNoAnswer: true,
	coach.EntryFault: true, coach.EntryHelp: true, coach.EntryClear: true}

// How often what a station says is written into the store, where nothing in it
// is new: enough to know after a restart who was exercising.
const (
	saveStatusEvery  = 20 * time.Second
	saveContactEvery = time.Minute
)

// Status takes how a station is.
func (l *Link) Status(ctx context.Context, from link.Peer, s link.Status) error {
	d, now := l.d, l.d.Time()
	taken, news := d.board.hear(from, s, d.moment())
	if !taken {
		return nil
	}
	if s.Unsent == 0 {
		d.board.emptied(from)
	}
	due, err := d.save(ctx, from, s, now)
	if err != nil {
		return err
	}
	if due.first || due.plan {
		if err := d.planHeard(ctx, from, s.Plan.Delivered); err != nil {
			return err
		}
	}
	if news {
		d.events.tell(Event{Kind: StationEvent, ID: from.ID, Station: from.Name, At: now})
	}
	if id := d.board.found(from.ID); id != 0 {
		return d.closeItself(ctx, id, "it is heard again")
	}
	return nil
}

// save writes what must outlast the desk.
func (d *Desk) save(ctx context.Context, from link.Peer, s link.Status, now time.Time) (dues, error) {
	due := d.board.due(from.ID, s, d.moment())
	if !due.status && !due.contact && !due.plan {
		return due, nil
	}
	return due, d.store.Together(ctx, func(ctx context.Context) error {
		if due.status {
			text, err := json.Marshal(s)
			if err != nil {
				return err
			}
			if err := d.store.SawStation(ctx, from.ID, now, string(text)); err != nil {
				return err
			}
		}
		if c := s.Contact; due.contact && store.OwnTime(c.At, now) {
			err := d.store.SaveContact(ctx, store.Contact{Station: from.ID, Boot: c.Boot, MonoNS: c.MonoNS, At: c.At, Within: time.Duration(c.WithinNS)})
			if err != nil {
				return err
			}
		}
		if due.plan {
			return d.planMoves(ctx, from, s.Plan)
		}
		return nil
	})
}

// dues says what of a status is to be written, and whether it is the first since
// this desk began.
type dues struct{ status, contact, plan, first bool }

func (b *board) due(id int64, s link.Status, now time.Time) dues {
	b.mu.Lock()
	defer b.mu.Unlock()
	at := b.seat(id)
	var d dues
	d.plan, d.first = at.plan != s.Plan, at.saved.IsZero()
	d.contact = s.Contact != nil && s.Contact.Boot != "" && now.Sub(at.ties) >= saveContactEvery
	d.status = d.plan || now.Sub(at.saved) >= saveStatusEvery || busy(s) != at.busySaved
	if d.plan {
		at.plan = s.Plan
	}
	if d.contact {
		at.ties = now
	}
	if d.status {
		at.saved, at.busySaved = now, busy(s)
	}
	return d
}

// planMoves notes how far the plans of a station are.
func (d *Desk) planMoves(ctx context.Context, from link.Peer, p link.PlanStatus) error {
	if p.Delivered == 0 && p.Taken == 0 && p.Refused == 0 {
		return nil
	}
	all, err := d.store.StationPlansOf(ctx, from.ID)
	if err != nil {
		return err
	}
	if err := d.knowPlan(ctx, from, all, p.Delivered); err != nil {
		return err
	}
	now := d.Time()
	for _, sp := range all {
		var err error
		switch {
		case sp.Version == p.Refused && sp.Refused != clipped(p.Why):
			err = d.store.PlanRefused(ctx, sp.ID, clipped(p.Why))
		case sp.Version == p.Taken && sp.TakenAt == nil:
			err = errors.Join(d.store.PlanDelivered(ctx, sp.ID, now), d.store.PlanTaken(ctx, sp.ID, now))
		case sp.Version == p.Delivered && sp.DeliveredAt == nil:
			err = d.store.PlanDelivered(ctx, sp.ID, now)
		default:
			continue
		}
		if err != nil {
			return fmt.Errorf("noting plan %d of %s: %w", sp.Version, from.Name, err)
		}
		d.events.tell(Event{Kind: PlanEvent, ID: sp.ID, Station: from.Name, At: now})
	}
	return nil
}

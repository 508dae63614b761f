package desk

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach/desk/store"
)

// quiet is what a look at the board finds about silent stations.
type quiet struct {
	shown []int64  // newly silent
	alarm []absent // silent for long while somebody exercised there
	all   bool     // newly: no station is heard at all
}

type absent struct {
	id    int64
	name  string
	tag   string
	since time.Time
}

// listen looks who has fallen silent. It tells of each only once; where no
// station is heard at all, of none.
func (b *board) listen(now time.Time) quiet {
	b.mu.Lock()
	defer b.mu.Unlock()
	var q quiet
	known, lost := 0, 0
	for id, s := range b.stations {
		if !s.said && !busy(s.status) {
			continue
		}
		known++
		if now.Sub(s.heard) <= silentAfter {
			continue
		}
		lost++
		if !s.silent {
			s.silent = true
			q.shown = append(q.shown, id)
		}
		if busy(s.status) && s.lost == 0 && now.Sub(s.heard) >= alarmAfter {
			q.alarm = append(q.alarm, absent{id, s.name, s.status.Session.Tag, s.heard})
		}
	}
	if known < 2 || lost < known {
		b.lost = time.Time{}
		return q
	}
	if b.lost.IsZero() {
		b.lost, q.all = now, true
	}
	return q
}

// found forgets the attention for a station's silence, and gives it.
func (b *board) found(id int64) int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.stations[id]
	if s == nil {
		return 0
	}
	a := s.lost
	s.lost = 0
	return a
}

func (b *board) isLost(id, attention int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.seat(id).lost = attention
}

// everywhere is the station of an attention about all of them.
const everywhere = 0

// listen tells pages of silent stations, and raises the alarm for those where
// somebody exercises: one for all where all are lost.
func (d *Desk) listen(ctx context.Context) error {
	now := d.moment()
	q := d.board.listen(now)
	for _, id := range q.shown {
		d.events.tell(Event{Kind: StationEvent, ID: id, Station: d.board.name(id), At: now})
	}
	if q.all {
		d.log.Warn("no station is heard")
		d.events.tell(Event{Kind: StationEvent, At: now})
	}
	if len(q.alarm) == 0 {
		if d.board.allLost() == nil {
			return d.foundAll(ctx)
		}
		return nil
	}
	if d.board.allLost() != nil {
		return d.loseAll(ctx, q.alarm, now)
	}
	for _, s := range q.alarm {
		a := store.Attention{Reason: store.LostStation, Station: s.id, Tag: s.tag, Raised: s.since, Delivered: now}
		if err := d.lose(ctx, a, s.id); err != nil {
			return err
		}
	}
	return nil
}

// loseAll raises one alarm for all stations.
func (d *Desk) loseAll(ctx context.Context, who []absent, now time.Time) error {
	a := store.Attention{Reason: store.LostStation, Station: everywhere, Raised: who[0].since, Delivered: now,
		Symptom: fmt.Sprintf("no station is heard; somebody exercised at %d of them", len(who))}
	if d.board.look(everywhere).lost != 0 {
		return nil
	}
	return d.lose(ctx, a, everywhere)
}

func (d *Desk) foundAll(ctx context.Context) error {
	if id := d.board.found(everywhere); id != 0 {
		return d.closeItself(ctx, id, "stations are heard again")
	}
	return nil
}

func (d *Desk) lose(ctx context.Context, a store.Attention, station int64) error {
	a, _, err := d.store.RaiseAttention(ctx, a)
	if err != nil {
		return fmt.Errorf("raising the alarm for a lost station: %w", err)
	}
	d.board.isLost(station, a.ID)
	d.tell(news{attentions: []store.Attention{a}})
	return nil
}

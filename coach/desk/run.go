package desk

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"evenbell/coach/desk/store"
)

// pokedSetting changes when another process changed something that stations or
// pages should know of.
const pokedSetting = "poked"

const (
	listenEvery  = 500 * time.Millisecond
	refreshEvery = 30 * time.Second
	retainEvery  = time.Hour
	pokesApart   = 200 * time.Millisecond
)

// Run does what goes on without anybody calling: silent stations, running
// classes, changes by other processes, retention, digests. It ends with ctx, or with the store.
func (d *Desk) Run(ctx context.Context) error {
	d.running.Store(true)
	defer d.running.Store(false)
	poked, err := d.store.Setting(ctx, pokedSetting)
	if err == nil {
		err = d.refresh(ctx)
	}
	if err != nil {
		if ctx.Err() != nil {
			return nil // stopped before it had begun
		}
		return err
	}
	listen, refresh, retain, floor := time.NewTicker(listenEvery), time.NewTicker(refreshEvery), time.NewTicker(retainEvery), time.NewTicker(lookEvery)
	defer listen.Stop()
	defer refresh.Stop()
	defer retain.Stop()
	defer floor.Stop()
	ctx, stop := context.WithCancel(ctx)
	digested := make(chan struct{})
	go func() {
		defer close(digested)
		d.digesting(ctx)
	}()
	defer func() {
		stop()
		<-digested
	}()
	looked := time.Time{}
	changed := d.store.Changed()
	for {
		var err error
		select {
		case <-ctx.Done():
			return nil
		case <-d.store.Failed():
			return fmt.Errorf("the store: %w", d.store.Err())
		case <-changed:
			if wait := pokesApart - time.Since(looked); wait > 0 {
				// Stations upload all the time; one look takes in many changes.
				select {
				case <-time.After(wait):
				case <-ctx.Done():
					return nil
				}
			}
			looked, changed = time.Now(), d.store.Changed()
			poked, err = d.lookAround(ctx, poked)
		case <-listen.C:
			d.board.pokeDue()
			err = d.listen(ctx)
		case <-refresh.C:
			err = errors.Join(d.refresh(ctx), d.settleRestored(ctx))
			d.board.poke(0)
		case <-floor.C:
			err = d.watchClasses(ctx)
		case <-retain.C:
			_, err = d.Retain(ctx)
		}
		if err != nil && ctx.Err() == nil {
			d.log.Error("the desk's own work", "error", err)
		}
	}
}

// lookAround passes on what another process has changed.
func (d *Desk) lookAround(ctx context.Context, before string) (string, error) {
	poked, err := d.store.Setting(ctx, pokedSetting)
	if err != nil || poked == before {
		return before, err
	}
	d.board.poke(0)
	d.events.tell(Event{Kind: ChangeEvent, At: d.Time()})
	return poked, d.refresh(ctx)
}

// refresh seats the stations there are and unseats the others.
func (d *Desk) refresh(ctx context.Context) error {
	all, err := d.store.Stations(ctx)
	if err != nil {
		return err
	}
	open, err := d.store.OpenAttentions(ctx)
	if err != nil {
		return err
	}
	d.board.refresh(all, open, d.moment())
	return d.closeMended(ctx, open)
}

func (b *board) refresh(all []store.Station, open []store.Attention, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	stay := map[int64]bool{everywhere: true}
	for _, st := range all {
		if st.Enrolled == nil || st.Revoked != nil {
			continue
		}
		stay[st.ID] = true
		s := b.seat(st.ID)
		s.name = st.Name
		if !s.said && s.heard.IsZero() {
			s.heard = now
			// Somebody who exercised when the desk went down may still do.
			if st.Seen != nil && now.Sub(*st.Seen) < lately {
				s.status = statusOf(st)
			}
		}
	}
	for id := range b.stations {
		if !stay[id] {
			delete(b.stations, id)
		}
	}
	for _, a := range open {
		if s := b.stations[a.Station]; a.Reason == store.LostStation && s != nil {
			s.lost = a.ID
		}
	}
}

// lately is how old what a station said may be, to count when the desk starts.
const lately = 15 * time.Minute

// stationChanged tells a station, and whoever watches it, to look again; in a
// process that serves no station it tells the one that does.
func (d *Desk) stationChanged(id int64) {
	if !d.alone && !d.running.Load() {
		d.pokeOutside()
	}
	d.board.poke(id)
}

func (d *Desk) allStationsChanged() { d.stationChanged(0) }

// changed tells pages that something is new.
func (d *Desk) changed() {
	if !d.alone && !d.running.Load() {
		d.pokeOutside()
	}
	d.events.tell(Event{Kind: ChangeEvent, At: d.Time()})
}

func (d *Desk) pokeOutside() {
	// What was to be told is on the disk; who misses this looks again soon.
	err := d.store.SetSetting(context.Background(), pokedSetting, strconv.FormatInt(time.Now().UnixNano(), 36))
	if err != nil {
		d.log.Warn("telling the server of a change", "error", err)
	}
}

// change is a transaction that pages look at again once it is on the disk.
func (d *Desk) change(ctx context.Context, work func(context.Context) error) error {
	err := d.store.Together(ctx, work)
	if err == nil {
		d.changed()
	}
	return err
}

package desk

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/protocol"
)

// State is what a station is to know now.
func (l *Link) State(ctx context.Context, to link.Peer) (link.State, error) {
	d := l.d
	st, err := d.store.Station(ctx, to.ID)
	switch {
	case errors.Is(err, store.ErrNotFound), err == nil && st.Key != to.Key:
		return link.State{}, link.ErrUnknown
	case err != nil:
		return link.State{}, err
	case st.Revoked != nil:
		return link.State{}, link.ErrRevoked
	}
	s := link.State{Now: d.Time(), Name: st.Name, Codes: st.Codes, Holds: []link.Hold{}, Clears: []link.Clear{}, Next: []link.Next{}}
	all, err := d.forAll(ctx)
	if err != nil {
		return s, err
	}
	s.Telephone = all.telephone
	if err := l.statePlan(ctx, st, all, &s); err != nil {
		return s, err
	}
	if err := l.stateHolds(ctx, st, all, &s); err != nil {
		return s, err
	}
	if s.Release, err = d.release(ctx, st.ID); err != nil {
		return s, err
	}
	s.Next = append(s.Next, nextPlaces(all.classes, st)...)
	return s, nil
}

// forStations is what every station is told alike. When a tag is held, all of
// them ask at once, and a stop must not wait for three hundred answers.
type forStations struct {
	turn       int64 // of the board when it was put together
	telephone  string
	today      coach.Day
	protocol   string
	limits     *protocol.Protocol
	holds      []store.Hold
	open       []store.Attention // not closed
	classes    []*heldClass      // loaded, of today
	restored   time.Time         // when a backup was last put back; zero for never
	recordings []store.Recording // signed

	screened func() ([]link.Hold, error) // whom today's screening keeps from starting, worked out once
}

// forAll is put together again whenever a station was told to look again.
func (d *Desk) forAll(ctx context.Context) (*forStations, error) {
	d.shared.Lock()
	defer d.shared.Unlock()
	turn := d.board.turn()
	if d.all != nil && d.all.turn == turn {
		return d.all, nil
	}
	all := &forStations{turn: turn}
	clinic, err1 := d.Clinic(ctx)
	today, err2 := d.Today(ctx)
	limits, err3 := d.protocolText(ctx)
	holds, err4 := d.store.OpenHolds(ctx)
	read, err5 := d.rules(ctx)
	open, err6 := d.store.OpenAttentions(ctx)
	recordings, err7 := d.store.Recordings(ctx)
	if err := errors.Join(err1, err2, err3, err4, err5, err6, err7); err != nil {
		return nil, err
	}
	all.recordings = slices.DeleteFunc(recordings, func(r store.Recording) bool { return r.Signed == "" })
	all.telephone, all.today, all.protocol, all.limits, all.holds, all.open = clinic.Telephone, today, limits, read, holds, open
	var err error
	all.screened = sync.OnceValues(func() ([]link.Hold, error) { return d.screenedOut(context.WithoutCancel(ctx), today) })
	if all.restored, err = d.restoredAt(ctx); err != nil {
		return nil, err
	}
	if all.classes, err = d.loadedClasses(ctx, today); err != nil {
		return nil, err
	}
	d.all = all
	return all, nil
}

// statePlan says which plan the station is to have today.
func (l *Link) statePlan(ctx context.Context, st store.Station, all *forStations, s *link.State) error {
	sp, err := l.d.planOn(ctx, st.ID, all.today)
	switch {
	case err != nil && !errors.Is(err, store.ErrNotFound):
		return err
	case mayHaveNewer(st, sp, all.restored), err == nil && sp.Unknown():
		s.KeepPlan = true
		return l.barScreened(all, s)
	case err != nil, sp.Text == "":
		return nil
	}
	p := link.Plan{Version: sp.Version, Text: sp.Text, Protocol: all.protocol}
	s.Plan, s.PlanHash = p.Version, p.Hash()
	if len(all.recordings) > 0 {
		s.Recordings = all.recordingsOf(l.d.texts.read(sp.Text, all.limits))
	}
	return l.object(ctx, sp, all, s)
}

// Plan gives the plan of a version.
func (l *Link) Plan(ctx context.Context, to link.Peer, version int64) (link.Plan, error) {
	all, err := l.d.store.StationPlansOf(ctx, to.ID)
	if err != nil {
		return link.Plan{}, err
	}
	for _, sp := range all {
		if sp.Version == version {
			limits, err := l.d.protocolText(ctx)
			return link.Plan{Version: sp.Version, Text: sp.Text, Protocol: limits}, err
		}
	}
	return link.Plan{}, link.ErrNoPlan
}

// stateHolds says whom no station may coach, which holds from this station's
// own log were cleared, and who is on the way.
func (l *Link) stateHolds(ctx context.Context, st store.Station, shared *forStations, s *link.State) error {
	from, err := l.d.store.HoldsFrom(ctx, st.ID, l.d.Time().Add(-clearsKept))
	if err != nil {
		return err
	}
	own := map[int64]*link.Position{}
	for _, h := range from {
		if h.Entry.Epoch == "" {
			continue
		}
		at := link.Position(h.Entry)
		if own[h.ID] = &at; h.Cleared != nil {
			s.Clears = append(s.Clears, link.Clear{ID: h.ID, Tag: h.Tag, By: h.ClearedBy, At: *h.Cleared, Own: &at})
		}
	}
	for _, h := range shared.holds {
		s.Holds = append(s.Holds, link.Hold{ID: h.ID, Tag: h.Tag, Reason: heldFor(h.Reason), Since: h.Since, Own: own[h.ID]})
	}
	for _, a := range shared.open {
		if a.Station == st.ID {
			s.Help = later(s.Help, a)
		}
		s.Partial = s.Partial || a.Reason == store.Restored
	}
	return nil
}

// later is the newest help that is on its way to this station.
func later(h *link.Help, a store.Attention) *link.Help {
	if a.Going == nil || a.Closed != nil || a.Entry.Epoch == "" || h != nil && !a.Going.After(h.At) {
		return h
	}
	return &link.Help{For: link.Position(a.Entry), By: a.GoingBy, At: *a.Going}
}

func heldFor(r store.Reason) link.Reason {
	switch r {
	case store.StopPressed:
		return link.HeldStop
	case store.NotWell:
		return link.HeldNotWell
	case store.ClosingSymptom:
		return link.HeldClosing
	}
	return link.HeldStaff
}

// Watch gives a channel with a token whenever State may give something else.
func (l *Link) Watch(to link.Peer) (<-chan struct{}, func()) { return l.d.board.watch(to.ID) }

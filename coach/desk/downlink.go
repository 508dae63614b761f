package desk

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
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
	s := link.State{Now: d.Time(), Name: st.Name, Holds: []link.Hold{}, Clears: []link.Clear{}, Next: []link.Next{}}
	clinic, err := d.Clinic(ctx)
	if err != nil {
		return s, err
	}
	s.Telephone = clinic.Telephone
	if err := l.statePlan(ctx, st, &s); err != nil {
		return s, err
	}
	if err := l.stateHolds(ctx, st, &s); err != nil {
		return s, err
	}
	if s.Release, err = d.release(ctx, st.ID); err != nil {
		return s, err
	}
	next, err := d.nextPlaces(ctx, st)
	if err != nil {
		return s, err
	}
	s.Next = append(s.Next, next...)
	return s, nil
}

// statePlan says which plan the station is to have today.
func (l *Link) statePlan(ctx context.Context, st store.Station, s *link.State) error {
	today, err := l.d.Today(ctx)
	if err != nil {
		return err
	}
	sp, err := l.d.planOn(ctx, st.ID, today)
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	p, err := l.asPlan(ctx, sp)
	s.Plan, s.PlanHash = p.Version, p.Hash()
	return err
}

func (l *Link) asPlan(ctx context.Context, sp store.StationPlan) (link.Plan, error) {
	limits, err := l.d.protocolText(ctx)
	return link.Plan{Version: sp.Version, Text: sp.Text, Protocol: limits}, err
}

// Plan gives the plan of a version.
func (l *Link) Plan(ctx context.Context, to link.Peer, version int64) (link.Plan, error) {
	all, err := l.d.store.StationPlansOf(ctx, to.ID)
	if err != nil {
		return link.Plan{}, err
	}
	for _, sp := range all {
		if sp.Version == version {
			return l.asPlan(ctx, sp)
		}
	}
	return link.Plan{}, link.ErrNoPlan
}

// stateHolds says whom no station may coach, which holds from this station's
// own log were cleared, and who is on the way.
func (l *Link) stateHolds(ctx context.Context, st store.Station, s *link.State) error {
	d := l.d
	own := map[int64]store.Attention{}
	all, err := d.store.Attentions(ctx, store.AttentionFilter{Station: st.ID, Since: d.Time().Add(-clearsKept)})
	if err != nil {
		return err
	}
	cleared := map[string]bool{}
	for _, a := range all {
		own[a.ID] = a
		s.Help = later(s.Help, a)
		cleared[a.Tag] = cleared[a.Tag] || clinical(a.Reason)
	}
	open, err := d.store.OpenHolds(ctx)
	if err != nil {
		return err
	}
	for _, h := range open {
		s.Holds = append(s.Holds, link.Hold{ID: h.ID, Tag: h.Tag, Reason: heldFor(h.Reason), Since: h.Since, Own: entryOf(own, h.Attention)})
	}
	for tag, some := range cleared {
		if tag == "" || !some {
			continue
		}
		if err := l.clears(ctx, tag, own, s); err != nil {
			return err
		}
	}
	slices.SortFunc(s.Clears, func(a, b link.Clear) int { return cmp.Compare(a.ID, b.ID) })
	return nil
}

func (l *Link) clears(ctx context.Context, tag string, own map[int64]store.Attention, s *link.State) error {
	holds, err := l.d.store.HoldsOf(ctx, tag)
	if err != nil {
		return err
	}
	for _, h := range holds {
		if at := entryOf(own, h.Attention); h.Cleared != nil && at != nil {
			s.Clears = append(s.Clears, link.Clear{ID: h.ID, Tag: h.Tag, By: h.ClearedBy, At: *h.Cleared, Own: at})
		}
	}
	return nil
}

// entryOf is the entry of this station that a hold came from; nil where it came
// from elsewhere.
func entryOf(own map[int64]store.Attention, attention int64) *link.Position {
	a, ok := own[attention]
	if !ok || a.Entry.Epoch == "" {
		return nil
	}
	at := link.Position(a.Entry)
	return &at
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

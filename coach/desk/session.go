package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// SessionView is one session with what belongs to it.
type SessionView struct {
	store.Session
	StationName string
	Review      *review.Session // nil where the log has nothing that can be read
	Entries     []store.Entry   // from its first to its last, what stands between included
	Attentions  []Need
	Plan        *store.StationPlan // the one it was led by; nil where it is not known
	Breaks      []store.Break      // in its part of the log
	Visit       *review.Visit      // that it is part of; nil where Review is
	Places      Places             // of the patient's sessions
}

// Session is the log of one session, and what belongs to it, for its page
// (SeeReview, audited).
func (d *Desk) Session(ctx context.Context, who Actor, id string) (*SessionView, error) {
	if err := who.check(SeeReview); err != nil {
		return nil, err
	}
	s, err := d.store.Session(ctx, id)
	if err != nil {
		return nil, notFound(err, "session %q", id)
	}
	if err := d.looked(ctx, who, SeeReview, s.Tag, "session "+id); err != nil {
		return nil, err
	}
	v := &SessionView{Session: s}
	for e, err := range d.store.Entries(ctx, store.EntryFilter{Station: s.Station, Session: id}) {
		if err != nil {
			return nil, err
		}
		v.Entries = append(v.Entries, e)
	}
	log, places, err := d.placedLog(ctx, s.Tag)
	if err != nil {
		return nil, err
	}
	if v.Visit, err = visitWith(log, id); err != nil && !errors.Is(err, ErrNotFound) {
		return nil, err
	}
	v.Places = places
	for _, r := range log.Sessions {
		if r.ID == id {
			v.Review = r
		}
	}
	return v, d.aroundSession(ctx, v)
}

func (d *Desk) aroundSession(ctx context.Context, v *SessionView) error {
	st, err := d.store.Station(ctx, v.Station)
	if err != nil {
		return fmt.Errorf("the station of a session: %w", err)
	}
	v.StationName = st.Name
	if v.Attentions, err = d.needs(ctx, store.AttentionFilter{Session: v.ID}); err != nil {
		return err
	}
	if v.Plan, err = d.planOf(ctx, v.Session); err != nil {
		return err
	}
	all, err := d.store.Breaks(ctx, v.Station)
	v.Breaks = slices.DeleteFunc(all, func(b store.Break) bool {
		return b.Epoch != v.Epoch || b.Seq < v.First || b.Seq > v.Last+1
	})
	return err
}

// planOf is the station plan a session was led by: the one with the
// fingerprint that the session logged.
func (d *Desk) planOf(ctx context.Context, s store.Session) (*store.StationPlan, error) {
	if s.Plan == "" {
		return nil, nil
	}
	all, err := d.store.StationPlansOf(ctx, s.Station)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].Fingerprint == s.Plan {
			return &all[i], nil
		}
	}
	return nil, nil
}

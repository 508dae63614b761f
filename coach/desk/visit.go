package desk

import (
	"context"
	"errors"
	"slices"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// VisitView is one visit with what belongs to it.
type VisitView struct {
	review.Visit
	Places     Places
	Attentions []Need
	Torn       []PlacedBreak // where the logs of its parts are not whole
}

// Places are the stations' names, by session.
type Places map[string]string

// PlacedBreak is a break of the log with where it is.
type PlacedBreak struct {
	store.Break
	Place string
}

// Stays are sessions as joining looks at them, for where nobody needs to read
// their logs.
func Stays(all []store.Session) []review.Stay {
	out := make([]review.Stay, len(all))
	for i, s := range all {
		out[i] = review.Stay{ID: s.ID, Tag: s.Tag, Part: s.Part, Resumes: s.Resumes, Start: s.Begun, End: s.Newest, Within: s.Within, Outcome: s.Outcome}
		if s.Stopped && s.Outcome == "" {
			out[i].Outcome = coach.Stopped // its end has not come in yet
		}
	}
	return out
}

// Join makes visits of a list of sessions.
func Join(all []store.Session) []review.Visit { return review.Join(Stays(all)) }

// Visit is the visit that a session is part of, and what belongs to it, for its
// page (SeeReview, audited).
func (d *Desk) Visit(ctx context.Context, who Actor, session string) (*VisitView, error) {
	if err := who.check(SeeReview); err != nil {
		return nil, err
	}
	s, err := d.store.Session(ctx, session)
	if err != nil {
		return nil, notFound(err, "session %q", session)
	}
	if err := d.looked(ctx, who, SeeReview, s.Tag, "visit "+session); err != nil {
		return nil, err
	}
	log, places, err := d.placedLog(ctx, s.Tag)
	if err != nil {
		return nil, err
	}
	of, err := visitWith(log, session)
	if err != nil {
		return nil, err
	}
	v := &VisitView{Visit: *of, Places: places}
	for _, stay := range v.Stays {
		one := SessionView{}
		if one.Session, err = d.store.Session(ctx, stay.ID); err != nil {
			return nil, notFound(err, "session %q", stay.ID)
		}
		if err := d.aroundSession(ctx, &one); err != nil {
			return nil, err
		}
		v.Attentions = append(v.Attentions, one.Attentions...)
		for _, b := range one.Breaks {
			v.Torn = append(v.Torn, PlacedBreak{b, one.StationName})
		}
	}
	return v, nil
}

// visitWith is the visit of a log that a session is part of; ErrNotFound where
// nothing of it can be read.
func visitWith(log *review.Log, session string) (*review.Visit, error) {
	all := log.Visits()
	i := slices.IndexFunc(all, func(v review.Visit) bool { return v.Has(session) })
	if i < 0 {
		return nil, notFound(store.ErrNotFound, "visit of session %q", session)
	}
	return &all[i], nil
}

// placedLog reviews everything a patient did, with where it was done, and which
// stations' parts of visits are not here yet.
func (d *Desk) placedLog(ctx context.Context, tag string) (*review.Log, Places, error) {
	log, err := d.logOf(ctx, tag)
	if err != nil {
		return nil, nil, err
	}
	sessions, err1 := d.store.Sessions(ctx, store.SessionFilter{Tag: tag})
	stations, err2 := d.store.Stations(ctx)
	if err := errors.Join(err1, err2); err != nil {
		return nil, nil, err
	}
	names := map[int64]string{}
	for _, st := range stations {
		names[st.ID] = st.Name
	}
	at, places := map[string]int64{}, Places{}
	for _, s := range sessions {
		at[s.ID], places[s.ID] = s.Station, names[s.Station]
	}
	out := *log
	out.Awaited, err = d.awaited(ctx, tag, log.Visits(), at, names)
	return &out, places, err
}

// awaitedFor is for how many days it is looked up whether a visit that has its
// first and last part has those between, too.
const awaitedFor = 28

// awaited is, by visit, which stations have a part of it in their plan of that
// day and their log of it not here. The plans tell of all places where those
// that the visit went to are still among them.
func (d *Desk) awaited(ctx context.Context, tag string, visits []review.Visit, at map[string]int64, names map[int64]string) (map[string]review.Awaiting, error) {
	today, err := d.Today(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]review.Awaiting{}
	for _, v := range visits {
		day := v.Day()
		if !v.Awaits() || day < today.AddDays(-awaitedFor) && len(v.Missing()) == 0 {
			continue
		}
		planned, err := d.partsOn(ctx, tag, day)
		if err != nil {
			return nil, err
		}
		a := review.Awaiting{All: true}
		for _, s := range v.Stays {
			a.All = a.All && slices.Contains(planned, at[s.ID])
		}
		for _, st := range planned {
			if !slices.ContainsFunc(v.Stays, func(s review.Stay) bool { return at[s.ID] == st }) {
				a.Places = append(a.Places, names[st])
			}
		}
		out[v.ID()] = a
	}
	return out, nil
}

// partsOn are the stations whose plans of a day have a part of the tag's
// session.
func (d *Desk) partsOn(ctx context.Context, tag string, day coach.Day) ([]int64, error) {
	plans, err := d.store.StationPlansOn(ctx, day)
	if err != nil {
		return nil, err
	}
	limits, err := d.rules(ctx)
	if err != nil {
		return nil, err
	}
	var out []int64
	for _, sp := range plans {
		if !slices.Contains(sp.Tags, tag) {
			continue
		}
		pl := d.texts.read(sp.Text, limits)
		if pl == nil {
			continue
		}
		for _, v := range pl.Patients {
			if v.Tag == tag && v.Part != coach.Whole {
				out = append(out, sp.Station)
			}
		}
	}
	return out, nil
}

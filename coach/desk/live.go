package desk

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// StationNow is one station at this moment.
type StationNow struct {
	store.Station
	Online  bool
	Silent  *time.Time // since when it is not heard; nil while it is
	Alarm   bool       // silent for a minute while somebody exercises there
	Tag     string     // who exercises; empty for nobody
	Session string
	Began   time.Time // of the session, by the desk's clock
	Place   Place
	Waiting *time.Time // nobody has answered since
	Look    bool       // stopped, or nobody answers: the station's own lamp is on
	Locked  bool       // stopped, until it is released
	Unsent  int64      // entries still on the station
	Version string
	Clock   string  // in plain words: "right", "off by 3 s", "not set"
	Volume  float64 // dB
	Voice   string
	Test    string             // what its self-test found wrong, in plain words; empty for nothing
	Space   int                // days of room for its log
	Plan    *store.StationPlan // for today; nil for none
	Said    *link.Status       // what it last said of itself; nil where it said nothing
	Heard   time.Time          // when it said so, while the desk has been running
}

// Place is where in a session somebody is.
type Place struct {
	Phase    string // questions, warm-up, set, rest, effort, ready, paused, cool-down, stopped, finished
	Exercise string
	Item, Of int // from 1; 0 outside an item
	Set, Rep int
}

// Now is who needs somebody, and what goes on.
type Now struct {
	At       time.Time
	Needs    []Need       // not closed; stops and lost stations first, then the oldest
	Stations []StationNow // enrolled and not revoked, by name
	AllLost  *time.Time   // no station can be heard since; nil otherwise
	Holds    []store.Hold // not cleared
}

// Now is who needs somebody and what goes on at the stations (SeeNow). Names of
// patients are not in it.
func (d *Desk) Now(ctx context.Context, who Actor) (*Now, error) {
	if err := who.check(SeeNow); err != nil {
		return nil, err
	}
	n := &Now{At: d.Time()}
	open, err := d.store.OpenAttentions(ctx)
	if err != nil {
		return nil, err
	}
	if n.Needs, err = d.asNeeds(ctx, open); err != nil {
		return nil, err
	}
	slices.SortStableFunc(n.Needs, func(a, b Need) int {
		return cmp.Or(cmp.Compare(unacknowledged(b), unacknowledged(a)), cmp.Compare(rank(a.Reason), rank(b.Reason)), a.Raised.Compare(b.Raised))
	})
	if n.Holds, err = d.store.OpenHolds(ctx); err != nil {
		return nil, err
	}
	stations, err := d.store.Stations(ctx)
	if err != nil {
		return nil, err
	}
	today, err := d.Today(ctx)
	if err != nil {
		return nil, err
	}
	plans, err := d.store.StationPlansOn(ctx, today)
	if err != nil {
		return nil, err
	}
	for _, st := range stations {
		if st.Enrolled == nil || st.Revoked != nil {
			continue
		}
		s := d.stationNow(st, d.moment())
		if i := slices.IndexFunc(plans, func(p store.StationPlan) bool { return p.Station == st.ID }); i >= 0 && (plans[i].Text != "" || plans[i].Unknown()) {
			s.Plan = &plans[i]
		}
		n.Stations = append(n.Stations, s)
	}
	slices.SortFunc(n.Stations, func(a, b StationNow) int { return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	n.AllLost = d.board.allLost()
	return n, nil
}

func unacknowledged(n Need) int {
	if n.Acknowledged == nil {
		return 1
	}
	return 0
}

func (d *Desk) stationNow(st store.Station, now time.Time) StationNow {
	st.Secret = nil
	out := StationNow{Station: st}
	at := d.board.look(st.ID)
	status := at.status
	if !at.said {
		status = statusOf(st)
	}
	if at.said || st.Status != "" {
		out.Said, out.Heard = &status, at.heard
	}
	out.fill(status, at, now)
	return out
}

func (s *StationNow) fill(status link.Status, at seat, now time.Time) {
	silent := now.Sub(at.heard) > silentAfter
	s.Online = at.said && !silent
	if !s.Online {
		since := at.heard
		if !at.said && s.Seen != nil {
			since = *s.Seen
		}
		s.Silent = &since
	}
	s.Alarm = !s.Online && busy(status) && now.Sub(at.heard) >= alarmAfter
	s.Locked, s.Unsent, s.Version = status.Locked != nil, status.Unsent, clipped(status.Program)
	s.Volume, s.Voice, s.Space = status.VolumeDB, clipped(status.Voice), status.Space
	s.Clock = clockWords(status)
	if !status.SelfTest.OK {
		s.Test = clipped(strings.Join(status.SelfTest.Findings, "; "))
	}
	if status.Session == nil {
		return
	}
	s.Place, s.Look = placeOf(*status.Session, at.worked, s.Locked), status.Session.Look
	if busy(status) {
		s.Tag, s.Session, s.Began = status.Session.Tag, status.Session.ID, at.began
	}
	if !at.waits.IsZero() && status.Session.Waiting != "" {
		waits := at.waits
		s.Waiting = &waits
	}
}

// placeOf puts into words where a session is.
func placeOf(s link.SessionStatus, worked, locked bool) Place {
	p := Place{Exercise: s.Exercise, Item: s.Item, Of: s.Items, Set: s.Set, Rep: s.Rep}
	switch {
	case s.Outcome != "":
		p.Phase = "finished"
	case locked:
		p.Phase = "stopped"
	case s.Waiting == "paused" || s.Waiting == "ready" || s.Waiting == "effort":
		p.Phase = s.Waiting
	case s.Waiting != "":
		p.Phase = "questions"
	case s.RestS > 0:
		p.Phase = "rest"
	case s.Item > 0:
		p.Phase = "set"
	case worked:
		p.Phase = "cool-down"
	default:
		p.Phase = "warm-up"
	}
	return p
}

// clockWords says how a station's clock stands against the desk's.
func clockWords(s link.Status) string {
	if !s.Trusted || s.Wall == nil {
		return "not set"
	}
	if s.Contact == nil || s.Contact.Boot != s.Boot {
		return "not compared yet"
	}
	desk := s.Contact.At.Add(time.Duration(s.MonoNS - s.Contact.MonoNS))
	off := s.Wall.Sub(desk).Abs()
	if off < 2*time.Second+time.Duration(s.Contact.WithinNS) {
		return "right"
	}
	return fmt.Sprintf("off by %s", off.Round(time.Second))
}

// look is a copy of a station's seat.
func (b *board) look(id int64) seat {
	b.mu.Lock()
	defer b.mu.Unlock()
	if s := b.stations[id]; s != nil {
		return *s
	}
	return seat{}
}

// allLost is since when no station is heard.
func (b *board) allLost() *time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.lost.IsZero() {
		return nil
	}
	at := b.lost
	return &at
}

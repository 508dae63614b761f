package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach/desk/store"
)

// Need is one attention with what belongs to it.
type Need struct {
	store.Attention
	StationName string // empty where it is about all of them
	Call        string // the call word of the tag, if it has one
	Held        bool   // the tag is held
	Loud        bool   // the page sounds until it is acknowledged
}

// loudFor is how long after it happened something is worth an alarm. What a
// station without network brings back days later must be seen and not sounded.
const loudFor = 12 * time.Hour

// loud reports whether somebody must come now. What was delivered in time stays
// so until somebody acknowledges it, whatever becomes of the clock.
func loud(a store.Attention) bool {
	if a.Acknowledged != nil || a.Closed != nil || a.Delivered.Sub(a.Raised) > loudFor+a.Within {
		return false
	}
	switch a.Reason {
	case store.StopPressed, store.NotWell, store.ClosingSymptom, store.NoAnswer, store.LostStation:
		return true
	}
	return false
}

// clinical reports whether an attention is about how somebody is.
func clinical(r store.Reason) bool {
	return r == store.StopPressed || r == store.NotWell || r == store.ClosingSymptom
}

// rank puts what is most pressing first.
func rank(r store.Reason) int {
	return slices.Index([]store.Reason{store.StopPressed, store.NotWell, store.ClosingSymptom, store.LostStation, store.NoAnswer, store.Restored, store.PlanUnknown, store.PartFailed, store.LogDamaged}, r)
}

// needs are the attentions chosen, newest first.
func (d *Desk) needs(ctx context.Context, f store.AttentionFilter) ([]Need, error) {
	all, err := d.store.Attentions(ctx, f)
	if err != nil {
		return nil, err
	}
	slices.Reverse(all)
	return d.asNeeds(ctx, all)
}

func (d *Desk) asNeeds(ctx context.Context, all []store.Attention) ([]Need, error) {
	if len(all) == 0 {
		return nil, nil
	}
	stations, err := d.store.Stations(ctx)
	if err != nil {
		return nil, err
	}
	names := map[int64]string{}
	for _, s := range stations {
		names[s.ID] = s.Name
	}
	holds, err := d.store.OpenHolds(ctx)
	if err != nil {
		return nil, err
	}
	calls := map[string]string{}
	var out []Need
	for _, a := range all {
		if _, known := calls[a.Tag]; !known && a.Tag != "" {
			calls[a.Tag] = d.callOf(ctx, a.Tag)
		}
		if a.Reason == store.Restored && a.Closed == nil {
			a.Symptom += d.notHeardSince(stations)
		}
		out = append(out, Need{Attention: a, StationName: names[a.Station], Call: calls[a.Tag], Loud: loud(a),
			Held: slices.ContainsFunc(holds, func(h store.Hold) bool { return h.Tag == a.Tag })})
	}
	return out, nil
}

// callOf is the word spoken for a tag; empty for none.
func (d *Desk) callOf(ctx context.Context, tag string) string {
	p, err := d.store.PatientByTag(ctx, tag)
	if err != nil {
		return ""
	}
	return p.Record.Call
}

// Attention is one, with what belongs to it (SeeNow).
func (d *Desk) Attention(ctx context.Context, who Actor, id int64) (*Need, error) {
	if err := who.check(SeeNow); err != nil {
		return nil, err
	}
	a, err := d.store.Attention(ctx, id)
	if err != nil {
		return nil, notFound(err, "attention %d", id)
	}
	all, err := d.asNeeds(ctx, []store.Attention{a})
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}

// Attentions are a patient's, or all where tag is empty, newest first
// (SeePatients).
func (d *Desk) Attentions(ctx context.Context, who Actor, tag string) ([]Need, error) {
	if err := who.check(SeePatients); err != nil {
		return nil, err
	}
	if err := d.looked(ctx, who, SeePatients, tag, "attentions"); err != nil {
		return nil, err
	}
	return d.needs(ctx, store.AttentionFilter{Tag: tag})
}

// Shown notes that an attention is on somebody's page; the first time counts
// (SeeNow).
func (d *Desk) Shown(ctx context.Context, who Actor, id int64) error {
	if err := who.check(SeeNow); err != nil {
		return err
	}
	a, err := d.store.Attention(ctx, id)
	if err != nil || a.Shown != nil {
		return notFound(err, "attention %d", id)
	}
	_, err = d.store.AttentionShown(ctx, id, d.Time())
	return err
}

// Acknowledge silences an attention's alarm, by name (Acknowledge). Of several
// who do the first counts; the attention is given as it then stands.
func (d *Desk) Acknowledge(ctx context.Context, who Actor, id int64) (store.Attention, error) {
	return d.stepOf(ctx, who, Acknowledge, id, "acknowledged", func(ctx context.Context, a store.Attention) (store.Attention, error) {
		return d.store.AcknowledgeAttention(ctx, id, who.Name, d.Time())
	})
}

// Going says that the actor is on the way; only then does the station say that
// help is coming. It acknowledges too.
func (d *Desk) Going(ctx context.Context, who Actor, id int64) (store.Attention, error) {
	return d.stepOf(ctx, who, Acknowledge, id, "going", func(ctx context.Context, a store.Attention) (store.Attention, error) {
		if _, err := d.store.AcknowledgeAttention(ctx, id, who.Name, d.Time()); err != nil {
			return a, err
		}
		return d.store.AttentionGoing(ctx, id, who.Name, d.Time())
	})
}

// longestAnswer is how much may be typed about how something ended.
const longestAnswer = 2000

// Close ends an attention with what was done and how it ended (ClosePlace),
// both required for a stop, a "not well" or a symptom. A hold stays.
func (d *Desk) Close(ctx context.Context, who Actor, id int64, done, ended string) (store.Attention, error) {
	done, ended = strings.TrimSpace(done), strings.TrimSpace(ended)
	return d.stepOf(ctx, who, ClosePlace, id, "closed", func(ctx context.Context, a store.Attention) (store.Attention, error) {
		switch {
		case a.Closed != nil:
			return a, nil
		case clinical(a.Reason) && done == "":
			return a, refuse("done", "is empty; say what was done")
		case clinical(a.Reason) && ended == "":
			return a, refuse("ended", "is empty; say how it ended")
		case len([]rune(done)) > longestAnswer || len([]rune(ended)) > longestAnswer:
			return a, refuse("done", "is longer than %d letters", longestAnswer)
		}
		if _, err := d.store.AcknowledgeAttention(ctx, id, who.Name, d.Time()); err != nil {
			return a, err
		}
		return d.store.CloseAttention(ctx, id, who.Name, d.Time(), done, ended)
	})
}

// stepOf takes an attention a step further and tells everybody.
func (d *Desk) stepOf(ctx context.Context, who Actor, as Action, id int64, what string, step func(context.Context, store.Attention) (store.Attention, error)) (a store.Attention, err error) {
	if err := who.check(as); err != nil {
		return a, err
	}
	err = d.store.Together(ctx, func(ctx context.Context) error {
		if a, err = d.store.Attention(ctx, id); err != nil {
			return notFound(err, "attention %d", id)
		}
		if a, err = step(ctx, a); err != nil {
			return err
		}
		return d.audit(ctx, who, as, cmp.Or(a.Tag, "station"), fmt.Sprintf("attention %d (%s): %s", id, a.Reason, what))
	})
	if err == nil {
		d.attentionMoved(a)
	}
	return a, err
}

// attentionMoved tells the station and all pages.
func (d *Desk) attentionMoved(a store.Attention) {
	d.stationChanged(a.Station)
	d.events.tell(Event{Kind: AttentionEvent, ID: a.ID, Station: d.board.name(a.Station), Reason: a.Reason, Loud: loud(a), At: d.Time()})
}

// byDesk is who closes what closes itself.
const byDesk = "the desk"

// closeItself closes an attention that nobody needs to look at any more.
func (d *Desk) closeItself(ctx context.Context, id int64, ended string) error {
	var a store.Attention
	err := d.store.Together(ctx, func(ctx context.Context) (err error) {
		if a, err = d.store.AcknowledgeAttention(ctx, id, byDesk, d.Time()); err != nil || a.Closed != nil {
			return err
		}
		a, err = d.store.CloseAttention(ctx, id, byDesk, d.Time(), "", ended)
		return errors.Join(err, d.auditAs(ctx, byDesk, string(ClosePlace), cmp.Or(a.Tag, "station"), fmt.Sprintf("attention %d (%s): %s", id, a.Reason, ended)))
	})
	if err == nil {
		d.attentionMoved(a)
	}
	return err
}

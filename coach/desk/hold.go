package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// openHoldsOf are a tag's holds that nobody has cleared, oldest first.
func (d *Desk) openHoldsOf(ctx context.Context, tag string) ([]store.Hold, error) {
	all, err := d.store.HoldsOf(ctx, tag)
	var open []store.Hold
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Cleared == nil {
			open = append(open, all[i])
		}
	}
	return open, err
}

// Clear takes a hold away (ClearHold), with a note why. Of several who do the
// first counts; the hold is given as it then stands.
func (d *Desk) Clear(ctx context.Context, who Actor, hold int64, note string) (h store.Hold, err error) {
	if err := who.check(ClearHold); err != nil {
		return h, err
	}
	note = strings.TrimSpace(note)
	if note == "" {
		return h, refuse("note", "is empty; say why the hold may go")
	}
	if len([]rune(note)) > longestAnswer {
		return h, refuse("note", "is longer than %d letters", longestAnswer)
	}
	err = d.change(ctx, func(ctx context.Context) error {
		h, err = d.clear(ctx, who, hold, note)
		return err
	})
	if err == nil {
		d.holdMoved(h)
	}
	return h, err
}

func (d *Desk) clear(ctx context.Context, who Actor, hold int64, note string) (store.Hold, error) {
	h, err := d.store.ClearHold(ctx, hold, who.Name, note, d.Time())
	if err != nil {
		return h, notFound(err, "hold %d", hold)
	}
	return h, d.audit(ctx, who, ClearHold, h.Tag, fmt.Sprintf("hold %d (%s)", hold, h.Reason))
}

// holdMoved tells every station and all pages.
func (d *Desk) holdMoved(h store.Hold) {
	d.allStationsChanged()
	d.events.tell(Event{Kind: HoldEvent, ID: h.ID, At: d.Time()})
}

// TelephoneCode clears a hold (ClearHold), and with it every other open hold of
// its tag: the station takes the code for all of them. It gives the single-use
// presses that tell a station without network so, to be read out over the
// telephone. They are good at that station and for that tag alone.
func (d *Desk) TelephoneCode(ctx context.Context, who Actor, hold int64, station, note string) (presses []coach.Button, err error) {
	if err := who.check(ClearHold); err != nil {
		return nil, err
	}
	note = strings.TrimSpace(note)
	if note == "" {
		return nil, refuse("note", "is empty; say why the hold may go")
	}
	var h store.Hold
	err = d.change(ctx, func(ctx context.Context) error {
		st, err := d.stationNamed(ctx, station)
		if err != nil {
			return err
		}
		if len(st.Secret) == 0 || st.Revoked != nil {
			return refuse("station", "%s is not enrolled; there is nothing it would know the code by", st.Name)
		}
		if h, err = d.clear(ctx, who, hold, note); err != nil {
			return err
		}
		if err := d.clearOthers(ctx, who, h, note); err != nil {
			return err
		}
		counter, err := d.store.NextTelephoneCode(ctx, st.ID)
		if err != nil {
			return err
		}
		code := link.TelephoneCode(st.Secret, h.Tag, counter+1) // the link counts from 1
		presses = code[:]
		return d.audit(ctx, who, ClearHold, h.Tag, fmt.Sprintf("telephone code %d for %s", counter, st.Name))
	})
	if err == nil {
		d.holdMoved(h)
	}
	return presses, err
}

// clearOthers clears what else holds a tag, together with one hold.
func (d *Desk) clearOthers(ctx context.Context, who Actor, h store.Hold, note string) error {
	open, err := d.openHoldsOf(ctx, h.Tag)
	if err != nil {
		return err
	}
	for _, o := range open {
		if _, err := d.clear(ctx, who, o.ID, fmt.Sprintf("%s (by the code that cleared hold %d)", note, h.ID)); err != nil {
			return err
		}
	}
	return nil
}

// releaseSetting begins the key of the setting that holds a station's newest
// release.
const releaseSetting = "release of station "

// Release frees a station that a stop has locked (ReleaseStation), for that
// stop and no later one: attention is the one that its giver saw, and
// ErrChanged says that there has been another stop since. The tag stays held.
func (d *Desk) Release(ctx context.Context, who Actor, attention int64) error {
	if err := who.check(ReleaseStation); err != nil {
		return err
	}
	var id int64
	err := d.change(ctx, func(ctx context.Context) error {
		a, err := d.store.Attention(ctx, attention)
		if err != nil {
			return notFound(err, "attention %d", attention)
		}
		st, err := d.store.Station(ctx, a.Station)
		if err != nil {
			return notFound(err, "the station of attention %d", attention)
		}
		id = st.ID
		stop, err := d.newestStop(ctx, st)
		if err != nil {
			return err
		}
		if stop != a.Entry {
			return fmt.Errorf("%w: the newest stop at %s is another one", ErrChanged, st.Name)
		}
		text, err := json.Marshal(link.Release{Stop: link.Position(stop), By: who.Name, At: d.Time()})
		if err != nil {
			return err
		}
		if err := d.store.SetSetting(ctx, fmt.Sprint(releaseSetting, st.ID), string(text)); err != nil {
			return err
		}
		return d.audit(ctx, who, ReleaseStation, st.Name, fmt.Sprintf("after the stop at %s %d", stop.Epoch, stop.Seq))
	})
	if err == nil {
		d.stationChanged(id)
	}
	return err
}

// newestStop is the stop that locks a station: the one it says, or the newest
// that came from it.
func (d *Desk) newestStop(ctx context.Context, st store.Station) (journal.Position, error) {
	status, heard := d.board.status(st.ID)
	if !heard {
		status = statusOf(st)
	}
	if status.Locked != nil {
		return journal.Position(*status.Locked), nil
	}
	all, err := d.store.Attentions(ctx, store.AttentionFilter{Station: st.ID})
	if err != nil {
		return journal.Position{}, err
	}
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Reason == store.StopPressed && all[i].Entry.Epoch != "" {
			return all[i].Entry, nil
		}
	}
	return journal.Position{}, refuse("station", "no stop is known of %s", st.Name)
}

// release is a station's newest release; nil for none.
func (d *Desk) release(ctx context.Context, station int64) (*link.Release, error) {
	text, err := d.store.Setting(ctx, fmt.Sprint(releaseSetting, station))
	if err != nil || text == "" {
		return nil, err
	}
	var r link.Release
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		return nil, fmt.Errorf("reading a release: %w", err)
	}
	return &r, nil
}

// clearsKept is how long a station is told of a hold that came from its own log
// and was cleared.
const clearsKept = 90 * 24 * time.Hour

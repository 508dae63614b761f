package desk

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// happened is one entry of a station's log with the time it happened, as far
// as that is known.
type happened struct {
	station int64
	entry   coach.Entry
	at      time.Time
	within  time.Duration
	byAge   bool // at was told by the age of the entry on the station's own boot
}

// nobodyKnows is how far off the time may be of what happened on a boot that
// no contact and no clock dates.
const nobodyKnows = 30 * 24 * time.Hour

// news is what to tell everybody once it is on the disk.
type news struct {
	attentions []store.Attention
	held       bool
}

// notice draws the consequences of an entry: an attention and, where somebody
// is not well, a hold. It may be called again with the same entry, from the
// urgent stream and from the log, and then changes nothing. Call it in a
// transaction.
func (d *Desk) notice(ctx context.Context, h happened, n *news) error {
	if reason, detail := meaning(h.entry); reason != "" {
		return d.raise(ctx, h, reason, detail, n)
	}
	switch data := h.entry.Data.(type) {
	case *coach.QuestionData:
		if data.ID == coach.QuestionSymptom {
			return d.noticeSymptom(ctx, h, data.Answer, n)
		}
	case *coach.HelpData:
		return d.noticeTold(ctx, h, *data, n)
	case *coach.ClearData:
		return d.noticeCleared(ctx, h, *data, n)
	}
	return nil
}

// meaning says why somebody must look at an entry and what more is known of it;
// no reason where nobody must.
func meaning(e coach.Entry) (reason store.Reason, detail string) {
	switch data := e.Data.(type) {
	case *coach.QuestionData:
		switch {
		case !data.Unwell():
		case data.ID == coach.QuestionAllRight: // a stop entry comes with it
		case data.ID == coach.QuestionClosing:
			return store.ClosingSymptom, ""
		default: // whatever the question, the session does not begin
			return store.NotWell, data.ID
		}
		return "", ""
	case *coach.FaultData:
		return store.PartFailed, data.Part + ": " + data.Detail
	case *coach.NoAnswerData:
		return store.NoAnswer, data.Waiting
	}
	if e.Kind == coach.EntryStop {
		return store.StopPressed, ""
	}
	return "", ""
}

func (d *Desk) raise(ctx context.Context, h happened, reason store.Reason, detail string, n *news) error {
	a, raised, err := d.store.RaiseAttention(ctx, store.Attention{Reason: reason, Station: h.station, Tag: clipped(h.entry.Tag), Session: h.entry.Session,
		Symptom: clipped(detail), Entry: journal.Position{Epoch: h.entry.Epoch, Seq: h.entry.Seq}, Raised: h.at, Within: h.within, Delivered: d.Time()})
	if err != nil {
		return fmt.Errorf("raising an attention: %w", err)
	}
	if better := h.byAge && apart(a.Raised, h.at) > a.Within+h.within; !raised && (better || a.Within > h.within+time.Second) {
		if a, err = d.store.AttentionRaisedAt(ctx, a.ID, h.at, h.within); err != nil {
			return err
		}
		n.attentions = append(n.attentions, a)
	}
	if _, holds := link.HoldReason(h.entry); holds {
		if err := d.hold(ctx, a, h.at); err != nil {
			return err
		}
		n.held = n.held || raised
	}
	if raised {
		n.attentions = append(n.attentions, a)
	}
	return nil
}

func apart(a, b time.Time) time.Duration { return a.Sub(b).Abs() }

// hold keeps a tag from being coached anywhere. What is no tag is nobody's: the
// attention says so, and the station it came from holds by itself.
func (d *Desk) hold(ctx context.Context, a store.Attention, since time.Time) error {
	if !tagForm.MatchString(a.Tag) {
		return nil
	}
	p, err := d.store.EnsureTag(ctx, a.Tag)
	if err != nil {
		return err
	}
	_, err = d.store.AddHold(ctx, store.Hold{Tag: p.Tag, Attention: a.ID, Reason: a.Reason, Since: since})
	if err != nil {
		return fmt.Errorf("holding %s: %w", a.Tag, err)
	}
	return nil
}

// noticeSymptom adds what was felt to the stop it was asked about.
func (d *Desk) noticeSymptom(ctx context.Context, h happened, symptom string, n *news) error {
	all, err := d.store.Attentions(ctx, store.AttentionFilter{Station: h.station, Session: h.entry.Session})
	if err != nil {
		return err
	}
	for i := len(all) - 1; i >= 0; i-- {
		if a := all[i]; a.Reason == store.StopPressed && a.Symptom == "" && (a.Entry.Epoch != h.entry.Epoch || a.Entry.Seq < h.entry.Seq) {
			a, err := d.store.AttentionSymptom(ctx, a.ID, clipped(symptom))
			n.attentions = append(n.attentions, a)
			return err
		}
	}
	return nil
}

// noticeTold notes when the station said that help is coming.
func (d *Desk) noticeTold(ctx context.Context, h happened, data coach.HelpData, n *news) error {
	all, err := d.store.Attentions(ctx, store.AttentionFilter{Station: h.station})
	if err != nil {
		return err
	}
	for _, a := range all {
		if a.Entry.Epoch == data.Epoch && a.Entry.Seq == data.Seq && a.Told == nil {
			a, err := d.store.AttentionTold(ctx, a.ID, h.at)
			n.attentions = append(n.attentions, a)
			return err
		}
	}
	return nil
}

// tell passes on what is on the disk by now.
func (d *Desk) tell(n news) {
	for _, a := range n.attentions {
		d.events.tell(Event{Kind: AttentionEvent, ID: a.ID, Station: d.board.name(a.Station), Reason: a.Reason, Loud: loud(a), At: d.Time()})
		d.log.Info("attention", "id", a.ID, "reason", a.Reason, "station", a.Station, "tag", a.Tag, "late", d.Time().Sub(a.Raised).String())
	}
	if n.held {
		if !d.alone && !d.running.Load() {
			d.pokeOutside()
		}
		d.board.pokeSoon()
		d.events.tell(Event{Kind: HoldEvent, At: d.Time()})
	}
}

// broken raises an attention for what is wrong with a log.
func (d *Desk) broken(ctx context.Context, b store.Break, n *news) error {
	a, _, err := d.store.RaiseAttention(ctx, store.Attention{Reason: store.LogDamaged, Station: b.Station,
		Symptom: brokenWords(b), Raised: b.At, Delivered: d.Time()})
	n.attentions = append(n.attentions, a)
	return err
}

package desk

import (
	"context"
	"strings"

	"evenbell/coach/desk/store"
)

// HoldPatient holds a tag because of what staff were told or saw themselves
// (ClosePlace): somebody at home rang and had pressed stop where there is no
// network, say. why is what was felt, one line. station is the name of the
// one they were at; empty where they were at none. It raises an attention that
// its giver has acknowledged, and from there all goes as after a stop: closed
// with what was done, cleared by a supervisor, also by a code told over the
// telephone.
func (d *Desk) HoldPatient(ctx context.Context, who Actor, tag, station, why string) (store.Hold, error) {
	if err := who.check(ClosePlace); err != nil {
		return store.Hold{}, err
	}
	why = strings.TrimSpace(why)
	if err := properLine("why", why, 200); err != nil {
		return store.Hold{}, err
	}
	var h store.Hold
	var a store.Attention
	err := d.change(ctx, func(ctx context.Context) error {
		p, err := d.patientTagged(ctx, tag)
		if err != nil {
			return err
		}
		now := d.Time()
		a = store.Attention{Reason: store.NotWell, Tag: p.Tag, Symptom: why, Raised: now, Delivered: now}
		if station != "" {
			st, err := d.stationNamed(ctx, station)
			if err != nil {
				return err
			}
			a.Station = st.ID
		}
		if a, _, err = d.store.RaiseAttention(ctx, a); err != nil {
			return err
		}
		if a, err = d.store.AcknowledgeAttention(ctx, a.ID, who.Name, now); err != nil {
			return err
		}
		if h, err = d.store.AddHold(ctx, store.Hold{Tag: p.Tag, Attention: a.ID, Reason: store.NotWell, Since: now}); err != nil {
			return err
		}
		return d.audit(ctx, who, ClosePlace, p.Tag, "held by staff: "+why)
	})
	if err != nil {
		return store.Hold{}, err
	}
	d.attentionMoved(a)
	d.holdMoved(h)
	return h, nil
}

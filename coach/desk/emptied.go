package desk

import (
	"context"
	"errors"
	"fmt"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// Empty takes back what a station was sent for a day (LoadPlan): the station
// then has no plan, until another is loaded. Who exercises there comes to an end
// first, as with any new plan.
func (d *Desk) Empty(ctx context.Context, who Actor, station string, day coach.Day) (sp store.StationPlan, err error) {
	if err := who.check(LoadPlan); err != nil {
		return sp, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		st, err := d.stationNamed(ctx, station)
		if err != nil {
			return err
		}
		was, err := d.planOn(ctx, st.ID, day)
		if errors.Is(err, store.ErrNotFound) || err == nil && (was.Text == "" && !was.Unknown() || day < was.Day || was.Until < day) {
			return refuse("station", "%s has no plan for %s", st.Name, day)
		}
		if err != nil {
			return err
		}
		skip, err := d.skipped(ctx, st)
		if err != nil {
			return err
		}
		sp, err = d.store.SendPlan(ctx, store.StationPlan{Station: st.ID, Day: day, Until: was.Until, Tags: []string{}, Sent: who.Name, SentAt: d.Time(), Version: skip})
		if err != nil {
			return err
		}
		return d.audit(ctx, who, LoadPlan, st.Name, fmt.Sprintf("plan %d taken back", was.Version))
	})
	if err == nil {
		d.planSent(sp)
	}
	return sp, err
}

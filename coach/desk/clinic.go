package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
)

// Clinic is what the clinic says of itself: its settings.
type Clinic struct {
	Name      string              `json:"name"`
	Zone      string              `json:"zone"` // of the IANA names, such as "Europe/London"; empty for the system's
	Unit      coach.Unit          `json:"unit"`
	Voice     string              `json:"voice"` // voice pack
	Owned     string              `json:"owned"` // loads, as dose.ParseOwned reads them; empty for none
	Telephone string              `json:"telephone"`
	Emergency string              `json:"emergency"` // what to do in an emergency here
	Retention int                 `json:"retention"` // days that entries are kept; 0 for ever
	Exercises []coach.OwnExercise `json:"exercises,omitempty"`
}

// clinicSetting is the setting that holds all of it.
const clinicSetting = "clinic"

// newClinic is a clinic that has said nothing yet.
func newClinic() Clinic { return Clinic{Name: "The clinic", Unit: coach.Kilogram, Voice: "en"} }

// Clinic is the clinic's settings, with defaults filled in.
func (d *Desk) Clinic(ctx context.Context) (Clinic, error) {
	c := newClinic()
	text, err := d.store.Setting(ctx, clinicSetting)
	if err == nil && text != "" {
		err = json.Unmarshal([]byte(text), &c)
	}
	if err != nil {
		return c, fmt.Errorf("reading the clinic's settings: %w", err)
	}
	return c, nil
}

// ChangeClinic changes settings (ManageClinic); Refusal on what cannot be.
func (d *Desk) ChangeClinic(ctx context.Context, who Actor, change func(*Clinic) error) (c Clinic, err error) {
	if err := who.check(ManageClinic); err != nil {
		return Clinic{}, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		if c, err = d.Clinic(ctx); err != nil {
			return err
		}
		before, err := json.Marshal(c)
		if err != nil {
			return err
		}
		if err := change(&c); err != nil {
			return err
		}
		if err := c.check(); err != nil {
			return err
		}
		after, err := json.Marshal(c)
		if err != nil {
			return err
		}
		if err := d.setClinic(ctx, c); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageClinic, "settings", changedKeys(before, after))
	})
	if err == nil {
		d.allStationsChanged() // they say the telephone number
	}
	return c, err
}

// setClinic keeps the settings.
func (d *Desk) setClinic(ctx context.Context, c Clinic) error {
	text, err := json.Marshal(c)
	if err != nil {
		return err
	}
	return d.store.SetSetting(ctx, clinicSetting, string(text))
}

// check refuses settings that cannot be.
func (c Clinic) check() error {
	if err := properLine("name", c.Name, 80); err != nil {
		return err
	}
	if _, err := time.LoadLocation(c.Zone); err != nil {
		return refuse("zone", "%q is no time zone; write it as \"Europe/London\"", c.Zone)
	}
	if c.Unit != coach.Kilogram && c.Unit != coach.Pound {
		return refuse("unit", "%q is no unit; kg or lb", c.Unit)
	}
	if err := properLine("voice", c.Voice, 40); err != nil {
		return err
	}
	if _, err := c.owned(); err != nil {
		return refuse("owned", "%v", err)
	}
	if c.Retention < 0 {
		return refuse("retention", "is %d days; 0 to keep for ever, or more", c.Retention)
	}
	return c.checkExercises()
}

// checkExercises holds the clinic's own exercises to the form a plan has them
// in.
func (c Clinic) checkExercises() error {
	if len(c.Exercises) == 0 {
		return nil
	}
	for _, e := range c.Exercises {
		if len(e.Stages) != 1 {
			return refuse("exercises", "%q has %d stages; an exercise of the clinic's own has one", e.ID, len(e.Stages))
		}
	}
	if _, faults := plan.ReadOwn("exercises", plan.WriteOwn(c.Exercises)); len(coach.Errors(faults)) > 0 {
		return refuse("exercises", "%s", coach.Errors(faults)[0])
	}
	return nil
}

// owned is what the clinic has to lift and pull.
func (c Clinic) owned() (dose.Owned, error) {
	if c.Owned == "" {
		return dose.Owned{}, nil
	}
	return dose.ParseOwned(c.Owned)
}

// Zone is the clinic's time zone.
func (d *Desk) Zone(ctx context.Context) (*time.Location, error) {
	c, err := d.Clinic(ctx)
	if err != nil {
		return nil, err
	}
	return c.location()
}

func (c Clinic) location() (*time.Location, error) {
	if c.Zone == "" {
		return time.Local, nil
	}
	return time.LoadLocation(c.Zone)
}

// changedKeys names the keys of two JSON objects whose values differ.
func changedKeys(before, after []byte) string {
	var a, b map[string]json.RawMessage
	if json.Unmarshal(before, &a) != nil || json.Unmarshal(after, &b) != nil {
		return "changed"
	}
	return "changed: " + joined(differing(a, b))
}

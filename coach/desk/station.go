package desk

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// codeLasts is how long an enrolment code is good for.
const codeLasts = 10 * time.Minute

// Stations are all of them, by name, revoked ones last (SeeNow or
// ManageStations).
func (d *Desk) Stations(ctx context.Context, who Actor) ([]store.Station, error) {
	if !who.May(SeeNow) && !who.May(ManageStations) {
		return nil, who.check(ManageStations)
	}
	all, err := d.store.Stations(ctx)
	if err != nil {
		return nil, err
	}
	var good, revoked []store.Station
	for _, s := range all {
		s.Secret = nil
		if s.Revoked != nil {
			revoked = append(revoked, s)
		} else {
			good = append(good, s)
		}
	}
	return append(good, revoked...), nil
}

// Code makes a one-time enrolment code for the station of that name, which it
// adds if there is none, and gives it with the desk's key fingerprint in
// hexadecimal. A station that was enrolled before keeps its log; its old key
// ends when the code is used.
func (d *Desk) Code(ctx context.Context, who Actor, name string) (code, fingerprint string, expires time.Time, err error) {
	if err := who.check(ManageStations); err != nil {
		return "", "", expires, err
	}
	name = strings.TrimSpace(name)
	if err := properLine("name", name, 60); err != nil {
		return "", "", expires, err
	}
	if code, err = link.NewCode(d.random); err != nil {
		return "", "", expires, err
	}
	expires = d.Time().Add(codeLasts)
	err = d.change(ctx, func(ctx context.Context) error {
		st, err := d.store.StationByName(ctx, name)
		if errors.Is(err, store.ErrNotFound) {
			st, err = d.store.AddStation(ctx, store.Station{Name: name})
		}
		if err != nil {
			return err
		}
		if _, err := d.store.AddCode(ctx, store.EnrolmentCode{Station: st.ID, Code: code, Expires: expires}); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageStations, name, "an enrolment code")
	})
	return code, d.fingerprint, expires, err
}

func (d *Desk) stationNamed(ctx context.Context, name string) (store.Station, error) {
	st, err := d.store.StationByName(ctx, strings.TrimSpace(name))
	return st, notFound(err, "no station is named %q", name)
}

// RenameStation changes a station's name and its place, as spoken: "the place
// by the window".
func (d *Desk) RenameStation(ctx context.Context, who Actor, name, newName, place string) error {
	if err := who.check(ManageStations); err != nil {
		return err
	}
	newName, place = strings.TrimSpace(newName), strings.TrimSpace(place)
	if err := properLine("name", newName, 60); err != nil {
		return err
	}
	if place != "" {
		if err := properLine("place", place, 80); err != nil {
			return err
		}
	}
	err := d.change(ctx, func(ctx context.Context) error {
		st, err := d.stationNamed(ctx, name)
		if err != nil {
			return err
		}
		if err := d.store.RenameStation(ctx, st.ID, newName, place); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageStations, newName, fmt.Sprintf("was %s; stands at: %s", name, place))
	})
	if errors.Is(err, store.ErrTaken) {
		return refuse("name", "%q is the name of another station already", newName)
	}
	return err
}

// Revoke lets a station in no more. Its log and plans stay.
func (d *Desk) Revoke(ctx context.Context, who Actor, name string) error {
	if err := who.check(ManageStations); err != nil {
		return err
	}
	var id int64
	err := d.change(ctx, func(ctx context.Context) error {
		st, err := d.stationNamed(ctx, name)
		if err != nil {
			return err
		}
		id = st.ID
		if err := d.store.Revoke(ctx, st.ID, d.Time()); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageStations, name, "revoked")
	})
	if err == nil {
		d.stationChanged(id)
	}
	return err
}

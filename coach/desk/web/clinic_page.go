package web

import (
	"errors"
	"strconv"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// clinicPage is what the clinic says of itself, and who may do what.
type clinicPage struct {
	desk.Clinic
	Doors    []menuItem
	Rights   []right
	Jumped   *desk.Jumped // nil for who is not to look after it
	Unsigned int          // exercises of which a supervisor has something to sign
}

// right is one thing and the roles that may do it.
type right struct {
	What                         desk.Action
	Supervisor, Assistant, Admin bool
}

// clinicDoors are the pages below, for whoever may go there.
var clinicDoors = []menuItem{
	{Path: "/clinic/settings", Label: "Name, unit, equipment, emergency, how long data is kept", Icon: "clinic"},
	{Path: "/clinic/staff", Label: "Staff", Icon: "people"},
	{Path: "/clinic/protocol", Label: "Protocol: limits, their sources, sign-off", Icon: "review"},
	{Path: "/clinic/exercises", Label: "Exercises of our own", Icon: "day"},
	{Path: "/records", Label: "Records: data out, legal hold", Icon: "print"},
	{Path: "/clinic/audit", Label: "Who did what", Icon: "eye"},
	{Path: "/password", Label: "Your own password", Icon: "off"},
}

// told are the actions in the order that staff read about them.
var told = []desk.Action{desk.SeeNow, desk.Acknowledge, desk.ClosePlace, desk.ReleaseStation, desk.ClearHold, desk.RunClass, desk.LoadPlan,
	desk.SeePatients, desk.ChangePatients, desk.ScreenPatient, desk.WritePlan, desk.ApprovePlan, desk.SeeReview, desk.DecideProposal,
	desk.NoteObservation, desk.WriteProtocol, desk.SignProtocol, desk.WriteExercise, desk.SignExercise, desk.ManageStaff, desk.ManageStations, desk.ManageClinic,
	desk.ExportData, desk.ExportRecord, desk.KeepData, desk.ImportData, desk.SeeAudit, desk.ChangePassword}

func showClinic(v *visit) error {
	p := clinicPage{Clinic: v.clinic}
	if v.who.May(desk.KeepData) {
		var err error
		if p.Jumped, err = v.desk().ClockJumped(v.ctx(), v.who); err != nil {
			return err
		}
	}
	for _, d := range clinicDoors {
		if v.mayGo(d.Path) {
			p.Doors = append(p.Doors, d)
		}
	}
	for _, a := range told {
		p.Rights = append(p.Rights, right{a, desk.May(store.Supervisor, a), desk.May(store.Assistant, a), desk.May(store.Admin, a)})
	}
	var err error
	if p.Unsigned, err = v.waitingExercises(); err != nil {
		return err
	}
	return v.page("clinic", "The clinic", p)
}

// settingsPage is the form of the clinic's settings.
type settingsPage struct{ Form *form }

func showSettings(v *visit) error {
	c := v.clinic
	f := newForm("name", c.Name, "zone", c.Zone, "unit", string(c.Unit), "voice", c.Voice, "owned", c.Owned, "telephone", c.Telephone,
		"emergency", c.Emergency, "retention", strconv.Itoa(c.Retention))
	return v.page("clinic-settings", "Settings of the clinic", settingsPage{f})
}

func changeSettings(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	keep := f.whole("retention", "Days to keep data", 0, 36500)
	if f.ok() {
		_, err := v.desk().ChangeClinic(v.ctx(), v.who, func(c *desk.Clinic) error {
			c.Name, c.Zone, c.Unit, c.Voice = f.Get("name"), f.Get("zone"), coach.Unit(f.Get("unit")), f.Get("voice")
			c.Owned, c.Telephone, c.Emergency, c.Retention = f.Get("owned"), f.Get("telephone"), f.Get("emergency"), or(keep)
			return nil
		})
		if err == nil {
			return v.back("/clinic", "The settings are changed.")
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	return v.again("clinic-settings", "Settings of the clinic", settingsPage{f})
}

// passwordPage is the form of one's own password.
type passwordPage struct{ Form *form }

func showPassword(v *visit) error {
	return v.page("password", "Your own password", passwordPage{newForm()})
}

func changePassword(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	old, next := f.value("old"), f.value("new")
	if old == "" {
		f.fault("old", "Type the password you have now.")
	}
	if next != f.value("again") {
		f.fault("again", "The two are not the same.")
	}
	if f.ok() {
		err := v.desk().ChangePassword(v.ctx(), v.who, old, next)
		switch {
		case err == nil:
			return v.back("/login", "Your password is changed. Log in with the new one.")
		case errors.Is(err, desk.ErrWrongLogin):
			f.fault("old", "That is not the password you have now.")
		default:
			var r desk.Refusal
			if !errors.As(err, &r) {
				return err
			}
			f.fault("new", "%s", capital(r.Message))
		}
	}
	return v.again("password", "Your own password", passwordPage{f})
}

// auditPage is the audit trail, newest first.
type auditPage struct {
	Form  *form
	Lines []store.AuditLine
	Older int64 // the id before which there may be more; 0 for none
}

// auditLines is how many lines of the trail a page has.
const auditLines = 200

func showAudit(v *visit) error {
	q := v.r.URL.Query()
	f := &form{Values: q}
	filter := store.AuditFilter{By: f.Get("by"), Subject: f.Get("about"), Limit: auditLines}
	if day := f.day("until"); day != "" {
		filter.Until = v.endOf(day)
	}
	p := auditPage{Form: f}
	if f.ok() {
		lines, err := v.desk().Audit(v.ctx(), v.who, filter)
		if err != nil {
			return err
		}
		for i := len(lines) - 1; i >= 0; i-- {
			p.Lines = append(p.Lines, lines[i])
		}
	}
	return v.page("clinic-audit", "Who did what", p)
}

// endOf is the moment at which a day of the clinic's has ended.
func (v *visit) endOf(d coach.Day) time.Time {
	t := d.Time()
	return time.Date(t.Year(), t.Month(), t.Day()+1, 0, 0, 0, 0, v.now.Location())
}

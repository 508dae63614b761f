package desk_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
	"evenbell/coach/screening"
)

func refused(t *testing.T, err error, says string) {
	t.Helper()
	var r desk.Refusal
	require.ErrorAs(t, err, &r)
	assert.Contains(t, err.Error(), says)
}

func TestPlanFromDraftToStation(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{Call: "heron"})
	c.patient("M2", store.Record{})
	bay := c.enrolled("Bay 3")

	rx, checked, err := c.Draft(ctx, lind, "K4", planText("K4", "2026-03-02", curl+heel))
	require.NoError(t, err)
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	refused(t, err, "K4 has no approved plan")
	_, err = c.Approve(ctx, lind, rx.ID, checked.Fingerprint)
	assert.ErrorIs(t, err, desk.ErrDenied)
	_, err = c.Approve(ctx, okafor, rx.ID, "another")
	assert.ErrorIs(t, err, desk.ErrChanged)
	rx, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	assert.Equal(t, "R. Okafor", rx.Approved)
	_, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	refused(t, err, "no draft any more")

	c.pass(time.Minute)
	c.approved("M2", row)
	sp, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4", "M2")
	require.NoError(t, err)
	pl, faults := plan.Read("it", []byte(sp.Text), nil)
	require.NotNil(t, pl, "%v", faults)
	assert.Equal(t, []string{"K4", "M2"}, pl.Tags())
	assert.Equal(t, "heron", pl.Patients[0].Call)
	assert.Equal(t, coach.Day("2026-03-02"), pl.LastDay(), "in the clinic a plan is for the day")
	assert.Equal(t, &plan.Approval{By: "R. Okafor", At: monday.Add(time.Minute), SHA256: pl.Fingerprint()}, pl.Approval)

	s := bay.state()
	assert.Equal(t, sp.Version, s.Plan)
	down, err := c.link.Plan(ctx, bay.peer, s.Plan)
	require.NoError(t, err)
	assert.Equal(t, s.PlanHash, down.Hash())
	assert.Equal(t, sp.Text, down.Text)

	day := func() desk.Comer {
		v, err := c.Day(ctx, lind, "2026-03-02")
		require.NoError(t, err)
		require.Len(t, v.Comers, 2)
		return v.Comers[0]
	}
	assert.Equal(t, desk.Loaded, day().State)
	bay.says(link.Status{Plan: link.PlanStatus{Delivered: sp.Version}})
	assert.Equal(t, desk.OnStation, day().State)
	bay.says(link.Status{Plan: link.PlanStatus{Delivered: sp.Version}, Session: &link.SessionStatus{ID: "s1", Tag: "K4"}})
	assert.Equal(t, desk.Doing, day().State)
	bay.session("s1", "K4", curls(kilograms(2000), 10))
	bay.upload()
	bay.says(link.Status{Plan: link.PlanStatus{Taken: sp.Version}})
	assert.Equal(t, desk.Done, day().State)
	assert.Equal(t, coach.Completed, day().Outcome)
	assert.Equal(t, []string{"Bay 3"}, day().Stations)
}

func TestWhatKeepsAPlanFromAStation(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	c.enrolled("Bay 3")
	c.approved("K4", curl)
	load := func(who desk.Actor, day coach.Day) error {
		_, err := c.Load(ctx, who, "Bay 3", day, "K4")
		return err
	}
	require.NoError(t, load(lind, "2026-03-02"))
	refused(t, load(lind, "2026-03-20"), "is for 2026-03-02 to 2026-03-08")
	_, err := c.Load(ctx, lind, "Bay 3", "2026-03-02")
	refused(t, err, "nobody is chosen")
	_, err = c.Load(ctx, lind, "Bay 9", "2026-03-02", "K4")
	assert.ErrorIs(t, err, desk.ErrNotFound)
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4", "K4")
	refused(t, err, "would both be called")

	yes, no := true, false
	well := screening.Today{Well: &yes, NewSymptoms: &no, TabletsTaken: &yes, SprayAtHand: &yes, Admitted: &no}
	ask := well
	ask.TabletsTaken = &no
	s, err := c.Screen(ctx, lind, "K4", ask)
	require.NoError(t, err)
	require.Equal(t, "ask the supervisor", string(s.Result.Verdict))
	refused(t, load(lind, "2026-03-02"), "a supervisor loads this plan")
	require.NoError(t, load(okafor, "2026-03-02"))
	high := well
	high.Rest = &screening.Pressure{Systolic: 200, Diastolic: 100}
	_, err = c.Screen(ctx, lind, "K4", high)
	require.NoError(t, err)
	refused(t, load(okafor, "2026-03-02"), "not today")

	// A new precaution in the record makes what was approved allowed no more.
	c.pass(24 * time.Hour)
	p, err := c.store.PatientByTag(ctx, "K4")
	require.NoError(t, err)
	_, err = c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error {
		p.Record.Precautions = []coach.Precaution{{Kind: coach.Sternum, Side: coach.Both}}
		return nil
	})
	require.NoError(t, err)
	refused(t, load(okafor, "2026-03-03"), "goes against the sternum precaution")
	_, err = c.ChangePatient(ctx, okafor, "K4", p.Version, func(*store.Patient) error { return nil })
	assert.ErrorIs(t, err, desk.ErrChanged)
}

// A precaution that comes between writing and approving is looked at again, and
// what is approved has it.
func TestRecordChangesBetweenDraftAndApproval(t *testing.T) {
	c := newClinic(t)
	p := c.patient("K4", store.Record{})
	c.enrolled("Bay 3")
	rx, checked, err := c.Draft(ctx, lind, "K4", planText("K4", "2026-03-02", curl))
	require.NoError(t, err)
	_, err = c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error {
		p.Record.Precautions = []coach.Precaution{{Kind: coach.KneeTrouble, Side: coach.Left}}
		return nil
	})
	require.NoError(t, err)
	_, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.ErrorIs(t, err, desk.ErrChanged)
	_, checked, err = c.Prescription(ctx, okafor, rx.ID)
	require.NoError(t, err)
	rx, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	assert.Equal(t, checked.Fingerprint, rx.Fingerprint)
	sp, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Contains(t, sp.Text, `kind = "knee"`)

	old, checked, err := c.Draft(ctx, lind, "K4", planText("K4", "2026-03-02", heel))
	require.NoError(t, err)
	c.approved("K4", row)
	_, err = c.Approve(ctx, okafor, old.ID, checked.Fingerprint)
	refused(t, err, "a newer version is in force")
}

func TestDraftKeepsWhatWasTyped(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{Precautions: []coach.Precaution{{Kind: coach.ShoulderTrouble, Side: coach.Left}}})
	text := "# for the spring\n" + planText("K4", "2026-03-02", curl+"[[patient.item]]\nexercise = \"lateral-raise\"\nreps = 10\nload = \"1 kg\"\n")
	rx, checked, err := c.Draft(ctx, lind, "K4", text)
	require.NoError(t, err)
	assert.Equal(t, text, rx.Text, "faults and comments included")
	require.Nil(t, checked.Plan)
	require.Len(t, coach.Errors(checked.Faults), 1)
	fault := coach.Errors(checked.Faults)[0]
	assert.Contains(t, fault.Message, "goes against the shoulder precaution (left)")
	assert.Equal(t, "[[patient.item]]", strings.Split(text, "\n")[fault.Line-1], "at the item, in what was typed")
	_, err = c.Approve(ctx, okafor, rx.ID, "")
	assert.ErrorAs(t, err, &desk.Faulty{})

	_, checked, err = c.Draft(ctx, lind, "K4", planText("M2", "2026-03-02", curl))
	require.NoError(t, err)
	assert.Contains(t, checked.Faults[len(checked.Faults)-1].Message, "this is the plan of K4")
	_, checked, err = c.Draft(ctx, lind, "K4", "format = \"day-plan/1\"\nday = nonsense\n")
	require.NoError(t, err)
	assert.Nil(t, checked.Plan)
	assert.NotEmpty(t, checked.Faults)
}

func TestProgrammeUnderPrecautions(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{Precautions: []coach.Precaution{{Kind: coach.NoFloor}, {Kind: coach.ShoulderTrouble, Side: coach.Left}}})
	s, err := c.FromProgramme(ctx, lind, "K4", "quay-mat")
	require.NoError(t, err)
	assert.NotEmpty(t, s.Notes)
	checked, err := c.CheckPlan(ctx, lind, "K4", s.Text)
	require.NoError(t, err)
	require.NotNil(t, checked.Plan, "%v", checked.Faults)
	assert.GreaterOrEqual(t, len(checked.Plan.Patients[0].Items), 5)
	assert.Len(t, checked.Plan.Patients[0].Precautions, 2)

	c.patient("M2", store.Record{Precautions: []coach.Precaution{{Kind: coach.Sternum}}})
	choices, err := c.Choices(ctx, lind, "M2", "lateral-raise")
	require.NoError(t, err)
	assert.True(t, choices[0].Advised)
	assert.Nil(t, choices[0].Barred)
	var barred int
	for _, v := range choices {
		if v.Barred != nil {
			barred++
		}
	}
	assert.Positive(t, barred, "what is barred is shown, and says so")
	_, err = c.FromProgramme(ctx, lind, "K4", "nothing")
	assert.ErrorIs(t, err, desk.ErrNotFound)
}

func TestSendFile(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	text := planText("K4", "2026-03-02", curl)
	_, _, err := c.SendFile(ctx, console, "Bay 3", "plan.toml", []byte(text))
	var bad desk.Faulty
	require.ErrorAs(t, err, &bad)
	assert.Contains(t, bad.Faults[0].Message, "nobody has approved")
	text = strings.Replace(text, "[[patient]]", "[approval]\nby = \"R. Okafor\"\nat = 2026-03-01T16:20:00Z\n[[patient]]", 1)
	sp, notes, err := c.SendFile(ctx, console, "Bay 3", "plan.toml", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, text, sp.Text, "as it was written")
	assert.Contains(t, notes[len(notes)-1].Message, "nobody has given K4 a name")
	assert.Equal(t, sp.Version, bay.state().Plan)
	_, err = c.store.PatientByTag(ctx, "K4")
	require.NoError(t, err, "the tag is known now")

	bay.add(coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"})
	require.NoError(t, bay.urgent())
	_, notes, err = c.SendFile(ctx, okafor, "Bay 3", "plan.toml", []byte(text))
	require.NoError(t, err)
	assert.Contains(t, notes[len(notes)-1].Message, "K4 is held (stop)")
}

func TestHomePlanKeepsItsWeeks(t *testing.T) {
	c := newClinic(t)
	house := c.enrolled("Home of K4")
	c.patient("K4", store.Record{Home: &store.Home{Station: house.peer.ID, Telephone: "555 0100"}})
	c.approved("K4", curl)
	sp, err := c.Load(ctx, lind, "Home of K4", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Equal(t, coach.Day("2026-03-08"), sp.Until)
}

// A plan for home says what the record says now, but for the days of rest: those
// are approved. In the clinic the home is left out, and what was approved stands.
func TestHomePlanSaysWhatTheRecordSays(t *testing.T) {
	c := newClinic(t)
	house := c.enrolled("Home of K4")
	home := func(h store.Home) {
		h.Station = house.peer.ID
		p, err := c.store.PatientByTag(ctx, "K4")
		require.NoError(t, err)
		_, err = c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error { p.Record.Home = &h; return nil })
		require.NoError(t, err)
	}
	c.patient("K4", store.Record{})
	c.patient("M2", store.Record{})
	c.enrolled("Bay 3")
	c.approved("K4", curl)
	home(store.Home{Telephone: "555 0100", DaysBetween: 2, Equipment: []string{"1 kg"}})
	_, err := c.Load(ctx, lind, "Home of K4", "2026-03-02", "K4")
	refused(t, err, "approved for the clinic")

	_, checked, err := c.Draft(ctx, lind, "K4", planText("K4", "2026-03-02", curl))
	require.NoError(t, err)
	assert.Equal(t, 2, checked.Plan.Patients[0].Home.DaysBetween)
	var warned []string
	for _, f := range checked.Faults {
		if strings.Contains(f.Message, "not among the loads at home") {
			warned = append(warned, f.Message)
			assert.Positive(t, f.Line)
		}
	}
	assert.Equal(t, []string{"is 2 kg, which is not among the loads at home: 1 kg"}, warned)
	c.approved("K4", curl)
	sp, err := c.Load(ctx, lind, "Home of K4", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Contains(t, sp.Text, "[patient.home]\ntelephone = \"555 0100\"\ndays_between = 2\n")

	home(store.Home{Telephone: "555 0111", Emergency: "Ring  Ana\nfirst.", Alone: true, DaysBetween: 2})
	sp, err = c.Load(ctx, lind, "Home of K4", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Contains(t, sp.Text, "telephone = \"555 0111\"\nemergency = \"Ring Ana first.\"\nalone = true\n")

	c.approved("M2", row)
	sp, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4", "M2")
	require.NoError(t, err)
	assert.NotContains(t, sp.Text, "home")
	sp, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.NotContains(t, sp.Text, "home", "alone, but in the clinic")
	assert.Equal(t, coach.Day("2026-03-02"), sp.Until)
	_, err = c.Load(ctx, lind, "Home of K4", "2026-03-02", "M2")
	refused(t, err, "Home of K4 stands in the home of K4; no plan of M2 goes there")
	theirs := strings.Replace(planText("M2", "2026-03-02", row), "[[patient]]", "[approval]\nby = \"R. Okafor\"\nat = 2026-03-01T16:20:00Z\n[[patient]]", 1)
	_, _, err = c.SendFile(ctx, okafor, "Home of K4", "plan.toml", []byte(theirs))
	refused(t, err, "no plan of M2 goes there")

	home(store.Home{Telephone: "555 0111", DaysBetween: 3})
	_, err = c.Load(ctx, lind, "Home of K4", "2026-03-02", "K4")
	refused(t, err, "days of rest between sessions: 2; the settings for home say 3")
	home(store.Home{Telephone: "ask Ana", DaysBetween: 2})
	_, checked, err = c.Draft(ctx, lind, "K4", planText("K4", "2026-03-02", curl))
	require.NoError(t, err)
	assert.Nil(t, checked.Plan)
	assert.Contains(t, coach.Errors(checked.Faults)[0].Message, "no number to dial")

	home(store.Home{Telephone: "555 0111", Equipment: []string{"0.5 kg"}})
	s, err := c.FromProgramme(ctx, lind, "K4", "pier-chair")
	require.NoError(t, err)
	assert.Contains(t, s.Text, "until = 2026-03-29\n", "four weeks")
	assert.Contains(t, s.Text, "days_between = 1\n", "what the protocol asks for")
	assert.Contains(t, s.Text, "load = \"0.5 kg\"", "what is there")
}

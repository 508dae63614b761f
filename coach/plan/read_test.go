package plan_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden files anew")

const plans = "../../testdata/plans"

func load(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(plans, name))
	require.NoError(t, err)
	return text
}

func lines(faults []coach.Fault) string {
	var b strings.Builder
	for _, f := range faults {
		b.WriteString(f.String() + "\n")
	}
	return b.String()
}

func TestManyFaultsAtOnce(t *testing.T) {
	p, faults := plan.Read("many-faults.toml", load(t, "many-faults.toml"), nil)
	assert.Nil(t, p)
	golden := filepath.Join(plans, "many-faults.golden")
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(lines(faults)), 0o644))
	}
	assert.Equal(t, string(load(t, "many-faults.golden")), lines(faults))
}

// small is a plan of two items for one patient, without warnings but those
// of a short and unapproved plan.
const small = `format = "day-plan/1"
day = 2026-03-02
clinic = "Quayside Heart Health"
unit = "kg"
[pace]
rest = 45
[[patient]]
tag = "K4"
warm_up = 300
cool_down = 300
[[patient.item]]
exercise = "heel-raise"
reps = 10
load = "2.5 kg"
[[patient.item]]
exercise = "dumbbell-row"
stage = "hand-on-chair"
reps = 10
load = "2 kg"
side = "each"
`

// TestOneThingWrong changes one thing in the small plan and expects its one
// error, at its line.
func TestOneThingWrong(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{`"day-plan/1"`, `"day-plan/2"`, `1: format: day-plan/2 is newer than this program reads; it reads day-plan/1`},
		{`2026-03-02`, `"2026-03-02"`, `2: day: is the text "2026-03-02"; write a day without quotes, such as 2026-03-02`},
		{`clinic = "Quayside`, "clinic = \"Quay\\nside", `3: clinic: holds line breaks or signs that cannot be shown; one line of plain text`},
		{`rest = 45`, `rest = 29.999999999`, `6: pace.rest: is 29.999999999 s; at least 30 s (common practice; no source)`},
		{`rest = 45`, `rest = 3600`, `6: pace.rest: is 3600 s; at most 600 s (this program; own choice)`},
		{`rest = 45`, `rset = 45`, `6: pace.rset: unknown key; did you mean "rest"?; allowed here: lift, top, lower, bottom, rest, settle, count_in, breath_every`},
		{`tag = "K4"`, `tag = ""`, `8: patient.tag: "" is no tag; one to eight letters, digits or hyphens, such as "K4"; never a name`},
		{`tag = "K4"`, `tag = "K4"` + "\npart = \"first\"", `11: patient.cool_down: is given, but the first part of a session has none; only in whole and last`},
		{`tag = "K4"`, `tag = "K4"` + "\nwarm_up_elsewhere = true", `10: patient.warm_up: is given although warm_up_elsewhere = true; one of the two`},
		{"cool_down = 300\n", "", `7: patient.cool_down: missing; seconds, at least 300 s (RACGP HANDI; seen in the source), or cool_down_elsewhere = true`},
		{`tag = "K4"`, `tag = "K4"` + "\ncool_down_elsewhere = true", `11: patient.cool_down: is given although cool_down_elsewhere = true; one of the two`},
		{"cool_down = 300\n", "part = \"first\"\ncool_down_elsewhere = true\n", `11: patient.cool_down_elsewhere: the first part of a session has no cool-down to be done elsewhere; only in whole and last`},
		{`tag = "K4"`, `tag = "K4"` + "\nnext_place = \"the mat\"", `9: patient.next_place: is given, but the whole part of a session ends here; only in first and middle, or with cool_down_elsewhere = true`},
		{"cool_down = 300\n", "cool_down_elsewhere = true\nnext_place = \"the mat\"\nnext_at = \"9:10\"\n", `12: patient.next_at: "9:10" is no time of day; write it as "09:10"`},
		{`"heel-raise"`, `"heel raise"`, `12: patient.item.exercise: "heel raise" is not in the catalogue; did you mean "heel-raise"? station catalogue lists them all`},
		{`"2.5 kg"`, `"0 kg"`, `14: patient.item.load: "0 kg" is not a load: the mass is more than zero; write "2.5 kg", "5 lb", "band 2" or "body"`},
		{`"2.5 kg"`, `"60 lb"`, `14: patient.item.load: is 60 lb; one dumbbell is at most 25 kg (this program; own choice)`},
		{`"2.5 kg"`, `"band 1"`, `14: patient.item.load: heel-raise at holding-on is not done with "band 1"; it takes body or dumbbell`},
		{`"2 kg"`, `"band 11"`, `19: patient.item.load: is band 11; at most 10 levels (this program; own choice)`},
		{`"2.5 kg"`, `2.5`, `14: patient.item.load: is the number 2.5; write a text in quotes`},
		{`"hand-on-chair"`, `""`, `17: patient.item.stage: "" is no stage of dumbbell-row; it has hand-on-chair, hand-on-thigh`},
		{`"each"`, `"both"`, `20: patient.item.side: "both" is not how this stage is done; it is done each or left or right`},
		{`"each"`, `"each"` + "\nlast_load = \"2 kg\"", `21: patient.item.last_load: is given without last_reps; both or neither`},
		{`"each"`, `"each"` + "\nwords = \"short\"", `21: patient.item.words: "short" is not allowed; it is one of full, brief`},
		{`"K4"`, `"K4"` + "\nnote = \"" + strings.Repeat("o", 201) + `"`, `9: patient.note: is 201 letters long; at most 200`},
		{`"K4"`, `"K4"` + "\nnote = \" \"", `9: patient.note: is empty; from 1 to 200 letters`},
		{`"K4"`, `"K4"` + "\nnote = \"a\\u0007b\"", `9: patient.note: holds line breaks or signs that cannot be shown; one line of plain text`},
		{"cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"+353 20 912 0456\"\n",
			`12: patient.home.telephone: "+353 20 912 0456" is no number to dial; digits as they are dialled from there, in groups: "020 912 0456", and 00 in place of +`},
		{"cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"12\"\n", `12: patient.home.telephone: "12" has 2 digits; from 3 to 15`},
		{"cool_down = 300\n", "cool_down = 300\n[patient.home]\nalone = true\n", `11: patient.home.telephone: missing; write a text in quotes`},
		{"cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"112\"\ndays_between = 0\n",
			`13: patient.home.days_between: is 0; at least 1 day (AHA statements, as tabulated in PMC10646588 T5; quoted by a secondary page)`},
		{"cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"112\"\ndays_between = 7\n", `13: patient.home.days_between: is 7; at most 6 days (this program; own choice)`},
		{"cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"112\"\nemergency = \"" + strings.Repeat("o", 201) + "\"\n", `13: patient.home.emergency: is 201 letters long; at most 200`},
		{"warm_up = 300\ncool_down = 300\n", "part = \"middle\"\n[patient.home]\ntelephone = \"112\"\n", `10: patient.home: is given, but this is the middle part of a session; at home a session is whole`},
		{`"each"`, `"each"` + "\ncount_in = 99", `21: patient.item.count_in: is 99; at most 8 beats (this program; own choice)`},
		{`"each"`, `"each"` + "\n[[patient]]\ntag = \"k4\"\npart = \"middle\"\n[[patient.item]]\nexercise = \"heel-raise\"\nreps = 8\nload = \"body\"",
			`22: patient.tag: "k4" is the tag of another patient already, on line 8; each patient has their own`},
	} {
		require.Equal(t, 1, strings.Count(small, c.old), c.old)
		p, faults := plan.Read("p", []byte(strings.Replace(small, c.old, c.new, 1)), nil)
		assert.Nil(t, p, c.new)
		assert.Equal(t, "p:"+c.want+"\n", lines(coach.Errors(faults)), c.new)
	}
}

func TestCallWordsAndTagsAreOnePersons(t *testing.T) {
	two := `call = "heron"
guide = "tones"
[[patient.item]]
exercise = "half-squat"
reps = 8
load = "body"
[[patient]]
tag = "M7"
part = "middle"
call = "heron"
`
	_, faults := plan.Read("p", []byte(strings.Replace(small, "[[patient.item]]", two+"[[patient.item]]", 1)), nil)
	assert.Equal(t, "p:20: patient.call: \"heron\" is the call of another patient already, on line 11; each patient has their own\n",
		lines(coach.Errors(faults)))
}

func TestNobodyAndNothing(t *testing.T) {
	head := small[:strings.Index(small, "[[patient]]")]
	_, faults := plan.Read("p", []byte(head), nil)
	assert.Equal(t, "p:1: patient: missing; write tables, each headed [[patient]]\n", lines(coach.Errors(faults)))
	_, faults = plan.Read("p", []byte("patient = []\n"+head), nil)
	assert.Equal(t, "p:1: patient: there is nobody in this plan; at least one [[patient]]\n", lines(coach.Errors(faults)))
	_, faults = plan.Read("p", []byte(small[:strings.Index(small, "[[patient.item]]")]), nil)
	assert.Equal(t, "p:7: patient.item: missing; at least one [[patient.item]]\n", lines(coach.Errors(faults)))
	many := small + strings.Repeat("[[patient.item]]\nexercise = \"heel-raise\"\nreps = 8\nload = \"body\"\n", 16)
	_, faults = plan.Read("p", []byte(many), nil)
	assert.Equal(t, "p:77: patient.item: is number 17 of one patient's; at most 16 exercises (this program; own choice)\n", lines(coach.Errors(faults)))
}

func TestDefaults(t *testing.T) {
	p, faults := plan.Read("p", load(t, "one-item.toml"), nil)
	assert.Equal(t, `p:1: warning: approval: missing: nobody has approved this plan, so station run refuses it; render and rehearse say so and go on
p:12: warning: patient.item: only 1; a whole session usually has at least 8 exercises (AHA statements, as tabulated in PMC10646588 T5; quoted by a secondary page)
`, lines(faults))
	pace := coach.Pace{Lift: 2 * time.Second, Lower: 3 * time.Second, Rest: time.Minute, Settle: 5 * time.Second, CountIn: 3, BreathEvery: 3}
	assert.Equal(t, &plan.Plan{
		Day: "2026-03-02", Clinic: "Quayside Heart Health", Voice: "en", Unit: coach.Kilogram, Pace: pace,
		Patients: []plan.Patient{{
			Tag: "K4", Guide: coach.GuideBoth, Part: coach.Whole, WarmUp: 5 * time.Minute, CoolDown: 5 * time.Minute,
			Items: []plan.Item{{Exercise: "heel-raise", Sides: coach.BothSides, Pace: pace,
				Dose: coach.Dose{Sets: 1, Reps: 4, Stage: "holding-on"}}},
		}},
	}, p)
}

func TestEveryKey(t *testing.T) {
	p, faults := plan.Read("p", load(t, "every-key.toml"), nil)
	require.NotNil(t, p, lines(faults))
	assert.Equal(t, coach.Day("2026-03-29"), p.Until)
	assert.Equal(t, &plan.Approval{By: "R. Okafor", At: time.Date(2026, 3, 1, 16, 20, 0, 0, time.UTC)}, p.Approval)
	k4, m7 := p.Patients[0], p.Patients[1]
	assert.Equal(t, "heron", k4.Call)
	assert.Equal(t, []coach.Precaution{{Kind: coach.ShoulderTrouble, Side: coach.Left, Since: "2026-01-12", Until: "2026-05-01"}}, k4.Precautions)
	assert.Equal(t, coach.Pace{Lift: 2500 * time.Millisecond, Top: 500 * time.Millisecond, Lower: 3500 * time.Millisecond,
		Bottom: 250 * time.Millisecond, Rest: 90 * time.Second, Settle: 6 * time.Second, CountIn: 4, BreathEvery: 2}, k4.Items[0].Pace)
	assert.Equal(t, coach.Done{Load: coach.Dumbbell(2000, coach.Kilogram), Reps: 12}, k4.Items[0].Last)
	assert.Equal(t, &coach.Home{Telephone: "020 912 0456", Emergency: "Sit down and ring Astrid.", Alone: true, DaysBetween: 2}, k4.Home)
	assert.Nil(t, m7.Home)
	assert.True(t, m7.WarmUpElsewhere)
	assert.Equal(t, coach.Dumbbell(5000, coach.Pound), m7.Items[0].Dose.Load)
	assert.Equal(t, p.Pace, m7.Items[0].Pace)
}

func TestTheClinicsProtocolDecides(t *testing.T) {
	rules, faults := protocol.Read("clinic.toml", []byte(`format = "protocol/1"
name = "Quayside Heart Health"
sign_off = { by = "R. Okafor", on = 2026-02-01 }
[[limit]]
key = "rest-floor"
value = 90
`))
	require.NotNil(t, rules, lines(faults))
	_, faults = plan.Read("p", []byte(small), rules)
	assert.Equal(t, "p:6: pace.rest: is 45 s; at least 90 s (Quayside Heart Health; the clinic's own)\n", lines(coach.Errors(faults)))
	p, _ := plan.Read("p", []byte(strings.Replace(small, "rest = 45\n", "", 1)), rules)
	require.NotNil(t, p)
	assert.Equal(t, 90*time.Second, p.Pace.Rest, "the usual minute gives way to a higher floor")
}

func TestWarnings(t *testing.T) {
	text := strings.Replace(small, `"dumbbell-row"`, `"heel-raise"`, 1)
	text = strings.Replace(text, `stage = "hand-on-chair"`, `stage = "free"`, 1)
	text = strings.Replace(text, `side = "each"`, "", 1) + `[[patient.item]]
exercise = "bird-dog"
reps = 9
load = "body"
[[patient.item]]
exercise = "half-squat"
reps = 9
load = "body"
`
	p, faults := plan.Read("p", []byte(text), nil)
	assert.NotNil(t, p)
	assert.Equal(t, `p:1: warning: approval: missing: nobody has approved this plan, so station run refuses it; render and rehearse say so and go on
p:11: warning: patient.item: only 4; a whole session usually has at least 8 exercises (AHA statements, as tabulated in PMC10646588 T5; quoted by a secondary page)
p:16: warning: patient.item.exercise: heel-raise works the calves, as heel-raise just before it; put another exercise between them
p:23: warning: patient.item.reps: is 9, an odd number for alternating sides: one side does one more than the other
p:26: warning: patient.item.exercise: half-squat (standing) comes after bird-dog on the mat; who is down stays down: put it before the mat work
`, lines(faults))
}

// Which days a plan is for is read without the rest, which may have any fault.
func TestReadDays(t *testing.T) {
	const begin = "format = \"day-plan/1\"\nday = 2026-03-02\n"
	for text, want := range map[string][2]coach.Day{
		begin: {"2026-03-02", "2026-03-02"},
		begin + "until = 2026-03-29\n[pace]\nlift = \"no number\"\n[[patient]]\ntag = [": {"2026-03-02", "2026-03-29"},
		"# for one day\n" + begin + "\n[approval]\nuntil = 2026-03-29\n":                 {"2026-03-02", "2026-03-02"},
		"format = \"day-plan/2\"\nday = 2026-03-02\n":                                    {},
		"format = \"day-plan/1\"\n[[patient]]\nday = 2026-03-02\n":                       {},
		"no plan at all": {},
	} {
		first, last, ok := plan.ReadDays([]byte(text))
		assert.Equal(t, want, [2]coach.Day{first, last}, text)
		assert.Equal(t, want[0] != "", ok, text)
	}
	pl, _ := plan.Read("plan", plan.Demo(), nil)
	require.NotNil(t, pl)
	first, last, ok := plan.ReadDays(plan.Write(pl))
	assert.True(t, ok)
	assert.Equal(t, [2]coach.Day{pl.Day, pl.LastDay()}, [2]coach.Day{first, last})
}

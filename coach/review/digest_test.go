package review

import (
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

// eventful is a log in which something of everything happened, on two stations.
func eventful() []coach.Entry {
	d := newDiary("e1", "K4")
	taps := curls(4000, 12, coach.ReserveFew)
	taps.tapEvery = 5 * second
	d.whole("s1", at(0), taps)
	d.log(coach.EntryFault, 0, 0, "", &coach.FaultData{Part: "lamp"})
	d.begin("s2", at(3))
	d.log(coach.EntryFault, 0, 0, "", &coach.FaultData{Part: "sound", Detail: "ran dry"})
	d.log(coach.EntryPause, 0, 0, "", nil)
	d.at += 7 * second
	d.log(coach.EntryResume, 0, 0, "", nil)
	stop := taps
	stop.ended, stop.led = coach.EndedStop, 3
	d.do(stop)
	d.log(coach.EntryQuestion, 0, 0, "", &coach.QuestionData{ID: coach.QuestionSymptom, Answer: "dizzy"})
	d.end(coach.Stopped)
	d.log(coach.EntryRelease, 0, 0, "", &coach.ReleaseData{By: "R. Okafor"})
	d.noClock = true
	d.whole("s3", at(5), taps)
	d.noClock = false
	d.begin("s4", at(7)).do(taps) // and the power went
	next := newDiary("e2", "K4")
	next.entries[0].Data = &coach.StartData{PreviousEpoch: "e1", PreviousSeq: d.seq}
	next.begin("s5", at(9)).do(taps) // and the end is lost
	other := newDiary("e3", "K4")
	other.whole("s6", at(0).Add(5*time.Minute), taps) // while s1 goes on elsewhere
	return append(append(d.entries, next.entries...), other.entries...)
}

// What digests of single sessions, kept as JSON, are joined to is what is read
// from all entries at once.
func TestDigestsJoinedAreTheLog(t *testing.T) {
	zone, err := time.LoadLocation("Europe/London")
	require.NoError(t, err)
	for name, entries := range map[string][]coach.Entry{"eventful": eventful(), "a year": aYear()} {
		var digests []Digest
		for _, part := range bySession(entries) {
			text, err := json.Marshal(DigestOf(part))
			require.NoError(t, err)
			var d Digest
			require.NoError(t, json.Unmarshal(text, &d))
			digests = append(digests, d)
		}
		want, got := Read(entries, zone), LogOf(zone, digests...)
		assert.Equal(t, want.Sessions, got.Sessions, name)
		assert.ElementsMatch(t, want.Releases, got.Releases, name)
		assert.Equal(t, want.Marks, got.Marks, name)
	}
	log := Read(eventful(), zone)
	require.Len(t, log.Sessions, 6)
	doubtful := map[string]bool{}
	for _, s := range log.Sessions {
		doubtful[s.ID] = s.Doubtful
	}
	assert.Equal(t, map[string]bool{"s1": true, "s2": false, "s3": false, "s4": false, "s5": true, "s6": true}, doubtful)
}

// bySession cuts entries into those of each session; what is of none goes with
// the session that came before it on its station.
func bySession(entries []coach.Entry) [][]coach.Entry {
	place := map[string]int{}
	var out [][]coach.Entry
	last := map[string]string{} // by epoch
	for _, e := range entries {
		if e.Session != "" {
			last[e.Epoch] = e.Session
		}
		key := fmt.Sprint(e.Epoch, last[e.Epoch])
		if _, known := place[key]; !known {
			place[key] = len(out)
			out = append(out, nil)
		}
		out[place[key]] = append(out[place[key]], e)
	}
	return out
}

// A field that JSON leaves out would be lost with the digest that is kept.
func TestEveryFieldOfADigestIsKept(t *testing.T) {
	seen := map[reflect.Type]bool{}
	var look func(reflect.Type, string)
	look = func(v reflect.Type, path string) {
		if seen[v] || v.Implements(reflect.TypeFor[json.Marshaler]()) || v.Implements(reflect.TypeFor[encoding.TextMarshaler]()) {
			return
		}
		seen[v] = true
		switch v.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Map:
			look(v.Elem(), path)
		case reflect.Struct:
			for i := range v.NumField() {
				f := v.Field(i)
				assert.True(t, f.IsExported(), "%s.%s is not exported: it would be lost when a digest is kept", path, f.Name)
				look(f.Type, path+"."+f.Name)
			}
		}
	}
	look(reflect.TypeFor[Digest](), "Digest")
	assert.True(t, seen[reflect.TypeFor[Pace]()])
}

package record

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// detail is what an entry says, in plain words.
func (c Clinic) detail(e coach.Entry, line []byte) string {
	where := c.where(e)
	what := c.says(e, line)
	return joined(": ", where, what)
}

// where is the set an entry belongs to.
func (c Clinic) where(e coach.Entry) string {
	if e.Item == 0 {
		return ""
	}
	s := c.exercise(e.Exercise)
	if e.Set > 0 {
		s += fmt.Sprintf(", set %d", e.Set)
	}
	if e.Side == coach.Left || e.Side == coach.Right {
		s += ", " + string(e.Side)
	}
	if e.Rep > 0 {
		s += fmt.Sprintf(", repetition %d", e.Rep)
	}
	return s
}

func (c Clinic) says(e coach.Entry, line []byte) string {
	switch d := e.Data.(type) {
	case nil:
		return ""
	case *coach.StartData:
		if d.PreviousEpoch == "" {
			return "the log begins here"
		}
		return fmt.Sprintf("the log before it ended at entry %d of epoch %s", d.PreviousSeq, d.PreviousEpoch)
	case *coach.SessionStartData:
		return started(d)
	case *coach.PressData:
		return fmt.Sprintf("%s, heard at %s s, took effect at %s s, %s s later", d.Button,
			coach.Seconds(d.Heard.Time()), coach.Seconds(d.At.Time()), coach.Seconds((d.At - d.Heard).Time()))
	case *coach.QuestionData:
		return fmt.Sprintf("%s, %s s after the question (%s)", lower(questionWords("", *d)), d.AfterS, d.ID)
	case *coach.ItemStartData:
		return doseWords(coach.Dose{Load: d.Load, Reps: d.Reps, Sets: d.Sets}, d.Sides)
	case *coach.RepData:
		if d.Confirmed && d.TapSample != nil {
			return fmt.Sprintf("tapped at %s s", coach.Seconds(d.TapSample.Time()))
		}
		return "not tapped"
	case *coach.SetEndData:
		return fmt.Sprintf("%s, %d led, %d tapped", lower(display(answered, string(d.Ended))), d.Led, d.Confirmed)
	}
	return shortly(e, line)
}

// shortly are the kinds of which little is to be said, and unknown ones.
func shortly(e coach.Entry, line []byte) string {
	switch d := e.Data.(type) {
	case *coach.SaidData:
		return fmt.Sprintf("“%s” at %+.1f dB (%s)", d.Text, d.DB, d.Phrase)
	case *coach.NoAnswerData:
		return "waiting for " + d.Waiting
	case *coach.EffortData:
		return left(d.Reserve)
	case *coach.RestEndData:
		return fmt.Sprintf("%s s", d.Seconds)
	case *coach.SkipData:
		return fmt.Sprintf("%d led before", d.Led)
	case *coach.ReleaseData:
		return "by " + d.By
	case *coach.VolumeData:
		return fmt.Sprintf("%+d dB", d.DB)
	case *coach.PracticeData:
		return string(d.Button)
	case *coach.FaultData:
		return joined(", ", d.Part, d.Detail)
	case *coach.SessionEndData:
		return outcomeWords(d.Outcome)
	case *coach.LinkData:
		if d.GapS != nil {
			return fmt.Sprintf("%s, after %s s", d.Desk, *d.GapS)
		}
		return d.Desk
	case *coach.HoldData:
		return reasonWords(store.Reason(d.Reason))
	case *coach.ClearData:
		return "by " + d.By
	case *coach.HelpData:
		return d.By + " is coming"
	case *coach.RefusedData:
		words := map[coach.Refusal]string{coach.RefusedDone: "the day's exercises were done", coach.RefusedEnded: "the day had ended",
			coach.RefusedRest: "a day of rest", coach.RefusedOver: "the plan was over", coach.RefusedEarly: "the plan had not begun"}[d.Reason]
		if d.Next != "" {
			words += ", next on " + string(d.Next)
		}
		return words
	}
	return plainly(data(line))
}

func started(d *coach.SessionStartData) string {
	s := joined(", ", "plan "+short(d.Plan), "protocol "+short(d.Protocol), "voice "+short(d.Voice), "program "+short(d.Program),
		"part "+string(d.Part), "speed "+d.Speed)
	for _, r := range d.Recorded {
		s += ", " + recordingOf(r) + " " + short(r.Hash)
	}
	if d.Resumes != "" {
		s += ", goes on with session " + d.Resumes + ", which was broken off"
	}
	return s
}

// recordingOf names a recorded line by its words.
func recordingOf(r coach.RecordedData) string { return fmt.Sprintf("recording of %q", r.Text) }

// short is the beginning of a fingerprint, as people compare it.
func short(print string) string {
	if len(print) > 12 {
		return print[:12] + "…"
	}
	return print
}

// plainly writes an object as "key value, key value", keys in alphabetical
// order.
func plainly(v json.RawMessage) string {
	var of map[string]any
	if json.Unmarshal(v, &of) != nil {
		return strings.TrimSpace(string(v))
	}
	var keys []string
	for k := range of {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	var out []string
	for _, k := range keys {
		out = append(out, fmt.Sprintf("%s %v", k, of[k]))
	}
	return strings.Join(out, ", ")
}

// data is an entry's data as it stands in its line, for kinds nobody here
// knows.
func data(line []byte) json.RawMessage {
	var e struct{ Data json.RawMessage }
	if json.Unmarshal(line, &e) != nil {
		return nil
	}
	return e.Data
}

package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/picture"
	"evenbell/coach/plan"
)

// Replay leads a session again without a sound, from its programme and what
// was pressed. It is given by the program, since pages know no voice.
type Replay interface {
	// Lead gives the cues and entries of the session again, each in order of
	// sample, and the words of its phrases.
	Lead(ctx context.Context, voice string, p *coach.Programme, start coach.SessionStartData, presses []coach.Press) (cues []coach.Cue, entries []coach.Entry, text func(coach.Phrase) string, err error)
}

// sendPicture draws a session. Cues are not in the log; where the session can be
// led again and comes to the same entries, its cues are drawn too, else the
// entries alone.
func sendPicture(v *visit) error {
	got, err := v.desk().Session(v.ctx(), v.who, v.r.PathValue("id"))
	if err != nil {
		return err
	}
	var entries []coach.Entry
	for _, e := range got.Entries {
		read, err := e.Entry()
		if err != nil {
			return fmt.Errorf("reading session %s: %w", got.ID, err)
		}
		if read.Session == got.ID {
			entries = append(entries, read)
		}
	}
	prog, voice := programmeOf(got)
	cues, text := v.lead(prog, voice, entries)
	if text == nil {
		text = func(coach.Phrase) string { return "" }
	}
	var b bytes.Buffer
	if err := picture.Draw(&b, prog, cues, entries, text); err != nil {
		return fmt.Errorf("drawing session %s: %w", got.ID, err)
	}
	v.w.Header().Set("Content-Type", "image/svg+xml; charset=utf-8")
	// A picture on its own page is a document: it needs its own drawing styles
	// and nothing else.
	v.w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; sandbox")
	if v.r.Method != http.MethodHead {
		_, _ = v.w.Write(b.Bytes()) // the reader may have gone
	}
	return nil
}

// programmeOf is what the session was to be and the voice it was spoken by, by
// the plan its station had; where that is not known, no more than whose it is.
func programmeOf(s *desk.SessionView) (*coach.Programme, string) {
	day := coach.DayOf(s.Begun)
	none := &coach.Programme{Tag: s.Tag, Day: day, Approved: true}
	if s.Plan == nil {
		return none, ""
	}
	pl, _ := plan.Read("plan", []byte(s.Plan.Text), nil)
	if pl == nil {
		return none, ""
	}
	if !pl.Covers(day) {
		day = pl.Day
	}
	got, err := pl.Resolve(s.Tag, day)
	if err != nil {
		return none, ""
	}
	got.Intro = false
	return &got, pl.Voice
}

// lead leads the session again, and gives its cues where it comes to the same.
func (v *visit) lead(prog *coach.Programme, voice string, entries []coach.Entry) ([]coach.Cue, func(coach.Phrase) string) {
	if v.site.Replay == nil || len(prog.Items) == 0 {
		return nil, nil
	}
	var start coach.SessionStartData
	var presses []coach.Press
	for _, e := range entries {
		switch d := e.Data.(type) {
		case *coach.SessionStartData:
			start = *d
		case *coach.PressData:
			presses = append(presses, coach.Press{Button: d.Button, At: d.At, Heard: d.Heard})
		}
	}
	cues, again, text, err := v.site.Replay.Lead(v.ctx(), voice, prog, start, presses)
	if err != nil || !sameEntries(entries, again) {
		return nil, text
	}
	return cues, text
}

// sameEntries reports whether a session led again says what the log says, as
// far as the log goes.
func sameEntries(logged, again []coach.Entry) bool {
	if len(logged) == 0 || len(again) < len(logged) {
		return false
	}
	for i, e := range logged {
		if a := again[i]; a.Sample != e.Sample || a.Kind != e.Kind || a.Item != e.Item || a.Set != e.Set || a.Rep != e.Rep {
			return false
		}
	}
	return true
}

package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"evenbell/coach"
)

// Sound lets somebody hear what a station would say and pace. It is given by
// the program, since pages know no sound.
type Sound interface {
	// Item is the sound of one item of a programme, numbered from 0, from its
	// announcement to the end of its last set, as an audio file of the content
	// type given, spoken by a voice pack. recorded are lines of the clinic's own
	// exercises that somebody recorded, by their words.
	Item(ctx context.Context, voice string, p coach.Programme, recorded map[string][]byte, item int) (sound []byte, kind string, err error)
}

// playItem serves the sound of one item of a plan.
func playItem(v *visit) error {
	p, err := v.planPage()
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(v.r.PathValue("item"))
	if err != nil || v.site.Sound == nil || p.Days == nil || n < 1 || n > len(p.Patient.Items) {
		return missing("sound")
	}
	prog, err := p.Days.Resolve(p.Patient.Tag, p.Days.Day)
	if err != nil {
		return fmt.Errorf("making the programme of plan %d: %w", p.ID, err)
	}
	recorded, err := v.desk().Recorded(v.ctx(), v.who, p.Days.Voice, prog.Own, true)
	if err != nil {
		return err
	}
	sound, kind, err := v.site.Sound.Item(v.ctx(), p.Days.Voice, prog, recorded, n-1)
	if err != nil {
		return fmt.Errorf("making the sound of item %d of plan %d: %w", n, p.ID, err)
	}
	return v.sound(kind, sound)
}

// sound answers with a sound. Players ask for ranges; what they get is always
// this same one.
func (v *visit) sound(kind string, file []byte) error {
	v.w.Header().Set("Content-Type", kind)
	http.ServeContent(v.w, v.r, "", time.Time{}, bytes.NewReader(file))
	return nil
}

package station

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"evenbell/audio/speech"
	"evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/player"
)

// typedFolder is where, in the data folder, the sound of typed texts is kept.
const typedFolder = "typed"

// typedPatience is how long a session waits for all that was typed to be
// spoken; what is not ready by then is not spoken.
const typedPatience = 10 * time.Second

// Own makes the voice know a clinic's own exercises: their verbs are spoken,
// their typed words only after Type.
func (v *Voice) Own(own []coach.OwnExercise) { v.own = own }

// Language is that of the words the voice speaks.
func (v *Voice) Language() string { return v.script.Language() }

// Record gives the voice recordings of what staff typed, to be spoken by the
// speakers made after it wherever one is of exactly a text, in the voice's
// language; those of other texts are passed over. A recording takes the place of
// whatever else would speak its words. An error says which can't be used; then
// something else speaks them.
func (v *Voice) Record(all []link.Recording, texts ...string) error {
	v.recorded = map[string]line{}
	var wrong []error
	for _, r := range all {
		if r.Language != v.Language() || !slices.Contains(texts, r.Text) {
			continue
		}
		pcm, err := speech.ReadLine(r.Sound)
		if pcm = voice.Double(pcm); err == nil && len(pcm) > player.TypedLength(r.Text) {
			err = errors.New("it is longer than its words may take")
		}
		if err != nil {
			wrong = append(wrong, fmt.Errorf("the recording of %q: %w", r.Text, err))
			continue
		}
		v.recorded[r.Text] = line{r.Hash(), pcm}
	}
	return errors.Join(wrong...)
}

// line is a recording ready to be spoken, mono at audio.Rate.
type line struct {
	hash string
	pcm  []int16
}

// Recorded are the recordings that Record gave and that can be used, by their
// words.
func (v *Voice) Recorded() (out []coach.RecordedData) {
	for _, text := range slices.Sorted(maps.Keys(v.recorded)) {
		out = append(out, coach.RecordedData{Text: text, Hash: v.recorded[text].hash})
	}
	return out
}

// Type gets texts that staff typed ready to be spoken by the speakers made after
// it, where Record gave none: by a speech program on this machine, or from folder, where its sound is
// kept; an empty folder keeps nothing. An error says what will not be spoken,
// and then the script's other words stand for it; a session goes on all the
// same. It takes a tenth of a second for each text at best and seconds at
// worst, so it comes before the session.
func (v *Voice) Type(ctx context.Context, folder string, texts ...string) error {
	ctx, cancel := context.WithTimeout(ctx, typedPatience)
	defer cancel()
	v.typed = map[string][]int16{}
	var wrong []error
	for _, text := range texts {
		if _, recorded := v.recorded[text]; recorded || text == "" || v.typed[text] != nil {
			continue
		}
		pcm, err := v.Speak(ctx, folder, text)
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		v.typed[text] = pcm
	}
	return errors.Join(wrong...)
}

// TypeFor gets ready what staff typed for one session.
func (v *Voice) TypeFor(ctx context.Context, p *coach.Programme, folder string) error {
	v.Own(p.Own)
	texts := append(ownTexts(p.Own), p.Note, p.Next.Place)
	if p.Home != nil {
		texts = append(texts, p.Home.Emergency)
	}
	return v.Type(ctx, folder, texts...)
}

// ownTexts are what is typed of exercises of the clinic's own.
func ownTexts(own []coach.OwnExercise) (texts []string) {
	for _, e := range own {
		texts = append(texts, e.Typed()...)
	}
	return texts
}

// Speak gives the sound of a typed text, mono at audio.Rate, as Type would get
// it ready. It may be called while a session goes on.
func (v *Voice) Speak(ctx context.Context, folder, text string) ([]int16, error) {
	pcm, err := speech.NewTyped(folder, speech.Installed(v.script.Language())).Say(ctx, text)
	if err != nil {
		return nil, fmt.Errorf("speaking %q: %w", text, err)
	}
	return pcm, nil
}

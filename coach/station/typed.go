package station

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenbell/audio/speech"
	"evenbell/coach"
)

// typedFolder is where, in the data folder, the sound of typed texts is kept.
const typedFolder = "typed"

// typedPatience is how long a session waits for all that was typed to be
// spoken; what is not ready by then is not spoken.
const typedPatience = 10 * time.Second

// Own makes the voice know a clinic's own exercises: their verbs are spoken,
// their typed words only after Type.
func (v *Voice) Own(own []coach.OwnExercise) { v.own = own }

// Type gets texts that staff typed ready to be spoken by the speakers made after
// it: by a speech program on this machine, or from folder, where its sound is
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
		if text == "" || v.typed[text] != nil {
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
	texts := []string{p.Note, p.Next.Place}
	if p.Home != nil {
		texts = append(texts, p.Home.Emergency)
	}
	for _, e := range p.Own {
		texts = append(texts, e.Typed()...)
	}
	return v.Type(ctx, folder, texts...)
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

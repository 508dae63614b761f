package station

import (
	"context"
	"fmt"

	"evenbell/audio/speech"
)

// typed is the sound of a note that staff typed; nothing where it cannot be
// spoken.
type typed struct {
	text string
	pcm  []int16
}

// typedFolder is where, in the data folder, the sound of typed notes is kept.
const typedFolder = "typed"

// Type gets a note ready to be spoken by the speakers made after it: by a
// speech program on this machine, or from folder, where its sound is kept; an
// empty folder keeps nothing. An error says why it will not be spoken, and then
// the script's own words stand for it; a session goes on all the same. It
// takes a tenth of a second at best and seconds at worst, so it comes before
// the session.
func (v *Voice) Type(ctx context.Context, note, folder string) error {
	v.typed = typed{}
	if note == "" {
		return nil
	}
	pcm, err := speech.NewTyped(folder, speech.Installed(v.script.Language())).Say(ctx, note)
	if err != nil {
		return fmt.Errorf("speaking a typed note: %w", err)
	}
	v.typed = typed{note, pcm}
	return nil
}

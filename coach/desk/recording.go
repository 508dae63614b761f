package desk

import (
	"context"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
)

// Recorder makes recorded lines of what people record. It is given by the
// program, since the desk knows no sound.
type Recorder interface {
	// Fits is what a recording of some words must fit: the language that a
	// voice pack speaks, and how long the words may take.
	Fits(voice, text string) (language string, longest time.Duration, err error)
	// Line makes the sound of a line of these words of a file that somebody
	// recorded, and says how long it is. The error says what is wrong with the
	// file, in words for who sent it.
	Line(text string, file []byte) (sound []byte, length time.Duration, err error)
}

// lines are an exercise's lines with what is recorded for them.
func (d *Desk) lines(voice string, e coach.OwnExercise, recorded []store.Recording) (out []Line) {
	for _, key := range coach.OwnLines {
		l := Line{Line: key, Text: e.Line(key)}
		language, longest := d.fits(voice, l.Text)
		l.Longest = longest
		fits := func(r store.Recording, text string) bool { return r.Text == text && r.Language == language }
		for i, r := range recorded {
			switch {
			case fits(r, l.Text):
				l.Recording = &recorded[i]
			case r.Exercise == e.ID && r.Line == key && !slices.ContainsFunc(e.Typed(), func(text string) bool { return fits(r, text) }):
				l.Earlier = append(l.Earlier, r)
			}
		}
		out = append(out, l)
	}
	return out
}

// fits is Recorder.Fits; nothing where nothing can be recorded: a voice that
// only stations have is not known here.
func (d *Desk) fits(voice, text string) (language string, longest time.Duration) {
	if d.recorder == nil {
		return "", 0
	}
	language, longest, err := d.recorder.Fits(voice, text)
	if err != nil {
		return "", 0
	}
	return language, longest
}

// Record keeps a recording of a line of an exercise (WriteExercise), in place
// of an earlier one of the same words. words are those the actor had before
// them: ErrChanged where others stand there by now. A Refusal says what is
// wrong with the file. Stations have it once a supervisor has signed it.
func (d *Desk) Record(ctx context.Context, who Actor, id string, line coach.OwnLine, words string, file []byte) error {
	if err := who.check(WriteExercise); err != nil {
		return err
	}
	e, err := d.exercise(ctx, id)
	if err != nil {
		return err
	}
	text := e.Line(line)
	switch {
	case text == "":
		return fmt.Errorf("%w: an exercise has no line %q", ErrNotFound, line)
	case text != words:
		return fmt.Errorf("%w: the words are other ones now", ErrChanged)
	}
	clinic, err := d.Clinic(ctx)
	if err != nil {
		return err
	}
	language, _ := d.fits(clinic.Voice, text)
	if language == "" {
		return refuse("file", "nothing can be recorded for the voice %q at this desk", clinic.Voice)
	}
	sound, length, err := d.recorder.Line(text, file)
	if err == nil && len(sound) > link.MaxSound {
		err = fmt.Errorf("it comes to %d bytes; at most %d", len(sound), link.MaxSound)
	}
	if err != nil {
		return refuse("file", "%s", err)
	}
	r := store.Recording{Language: language, Text: text, Hash: link.Recording{Language: language, Text: text, Sound: sound}.Hash(),
		Exercise: id, Line: line, Length: length, By: who.Name, At: d.Time()}
	return d.recordingsChanged(d.change(ctx, func(ctx context.Context) error {
		now, err := d.exercise(ctx, id)
		if err != nil {
			return err
		}
		if now.Line(line) != words {
			return fmt.Errorf("%w: the words are other ones now", ErrChanged)
		}
		if err := d.store.KeepRecording(ctx, r, sound); err != nil {
			return err
		}
		return d.audit(ctx, who, WriteExercise, id, fmt.Sprintf("%s recorded: %s", line, r.Hash))
	}))
}

// RemoveRecording deletes a recording (WriteExercise): the words are spoken by
// machine again, on every station.
func (d *Desk) RemoveRecording(ctx context.Context, who Actor, hash string) error {
	if err := who.check(WriteExercise); err != nil {
		return err
	}
	return d.recordingsChanged(d.change(ctx, func(ctx context.Context) error {
		r, _, err := d.store.Recording(ctx, hash)
		if err != nil {
			return notFound(err, "recording %s", hash)
		}
		if err := d.store.RemoveRecording(ctx, hash); err != nil {
			return err
		}
		return d.audit(ctx, who, WriteExercise, r.Exercise, fmt.Sprintf("recorded %s taken away: %s", r.Line, hash))
	}))
}

// recordingsChanged tells the stations, unless nothing changed.
func (d *Desk) recordingsChanged(err error) error {
	if err == nil {
		d.allStationsChanged()
	}
	return err
}

// Recording is the sound of a recording, to be listened to (WriteExercise).
func (d *Desk) Recording(ctx context.Context, who Actor, hash string) ([]byte, error) {
	if err := who.check(WriteExercise); err != nil {
		return nil, err
	}
	_, sound, err := d.store.Recording(ctx, hash)
	return sound, notFound(err, "recording %s", hash)
}

// StrayRecordings are those of words that stand in no exercise of the clinic's
// any more (WriteExercise). Plans that were approved with the words still use
// them.
func (d *Desk) StrayRecordings(ctx context.Context, who Actor) (stray []store.Recording, err error) {
	all, err := d.Exercises(ctx, who)
	if err != nil {
		return nil, err
	}
	recorded, err := d.store.Recordings(ctx)
	for _, r := range recorded {
		shown := func(l Line) bool {
			return l.Recording != nil && l.Recording.Hash == r.Hash || slices.ContainsFunc(l.Earlier, func(o store.Recording) bool { return o.Hash == r.Hash })
		}
		if !slices.ContainsFunc(all, func(e Exercise) bool { return slices.ContainsFunc(e.Lines, shown) }) {
			stray = append(stray, r)
		}
	}
	return stray, err
}

// Recorded are the recordings that a voice pack would speak some exercises
// with, by words (WriteExercise or SeePatients). signed is true for what
// stations have, false for what waits for a supervisor, too.
func (d *Desk) Recorded(ctx context.Context, who Actor, voice string, own []coach.OwnExercise, signed bool) (map[string][]byte, error) {
	if !who.May(SeePatients) {
		if err := who.check(WriteExercise); err != nil {
			return nil, err
		}
	}
	out := map[string][]byte{}
	if len(own) == 0 {
		return out, nil
	}
	recorded, err := d.store.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	for _, r := range recorded {
		language, _ := d.fits(voice, r.Text)
		if !spoken(own, r.Text) || signed && r.Signed == "" || language != r.Language {
			continue
		}
		if _, out[r.Text], err = d.store.Recording(ctx, r.Hash); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// spoken reports whether some words are a line of one of the exercises.
func spoken(own []coach.OwnExercise, text string) bool {
	return slices.ContainsFunc(own, func(e coach.OwnExercise) bool { return slices.Contains(e.Typed(), text) })
}

// recordingsOf are the signed recordings of a plan's words, by their hash.
func (all *forStations) recordingsOf(pl *plan.Plan) (hashes []string) {
	for _, r := range all.recordings {
		if pl != nil && spoken(pl.Own, r.Text) {
			hashes = append(hashes, r.Hash)
		}
	}
	return hashes
}

// Recording gives a recording that the station's plan uses.
func (l *Link) Recording(ctx context.Context, to link.Peer, hash string) (link.Recording, error) {
	all, err := l.d.forAll(ctx)
	if err != nil {
		return link.Recording{}, err
	}
	st, err := l.d.store.Station(ctx, to.ID)
	if err != nil {
		return link.Recording{}, err
	}
	var s link.State
	if err := l.statePlan(ctx, st, all, &s); err != nil {
		return link.Recording{}, err
	}
	if !slices.Contains(s.Recordings, hash) {
		return link.Recording{}, link.ErrNoRecording
	}
	r, sound, err := l.d.store.Recording(ctx, hash)
	if err != nil {
		return link.Recording{}, fmt.Errorf("%w: %w", link.ErrNoRecording, err)
	}
	return link.Recording{Language: r.Language, Text: r.Text, Sound: sound}, nil
}

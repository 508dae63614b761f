package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
)

// Exercise is an exercise of the clinic's own. It may be prescribed once a
// supervisor has signed it as it is now.
type Exercise struct {
	coach.OwnExercise
	Signed *SignOff // nil while nobody has
	Lines  []Line   // what is spoken as it was typed
}

// SignOff is a supervisor's word for an exercise as it was then.
type SignOff struct {
	Fingerprint string    `json:"fingerprint"` // of the exercise
	By          string    `json:"by"`
	At          time.Time `json:"at"`
}

// Line is one line of an exercise and what is recorded for it.
type Line struct {
	Line      coach.OwnLine
	Text      string
	Longest   time.Duration     // that a recording of these words may take; 0 where nothing can be recorded
	Recording *store.Recording  // of exactly these words, in the language of the clinic's voice; nil for none
	Earlier   []store.Recording // made for this line while other words stood there, or in another language
}

// Waits reports whether a supervisor has something to sign: the exercise, or
// what was recorded for it.
func (e Exercise) Waits() bool {
	return e.Signed == nil || slices.ContainsFunc(e.Lines, func(l Line) bool { return l.Recording != nil && l.Recording.Signed == "" })
}

// Fingerprint tells what would be signed from anything else: the exercise and
// what is recorded for it.
func (e Exercise) Fingerprint() string {
	all := []string{exercisePrint(e.OwnExercise)}
	for _, l := range e.Lines {
		if l.Recording != nil {
			all = append(all, l.Recording.Hash)
		}
	}
	sum := sha256.Sum256([]byte(strings.Join(all, "\n")))
	return hex.EncodeToString(sum[:])
}

// exercisePrint is the fingerprint of an exercise: of the file that has it
// alone.
func exercisePrint(e coach.OwnExercise) string {
	sum := sha256.Sum256(plan.WriteOwn([]coach.OwnExercise{e}))
	return hex.EncodeToString(sum[:])
}

// signOffSetting holds who signed which exercise, by its id.
const signOffSetting = "exercise signatures"

func (d *Desk) signOffs(ctx context.Context) (map[string]SignOff, error) {
	all := map[string]SignOff{}
	text, err := d.store.Setting(ctx, signOffSetting)
	if err == nil && text != "" {
		err = json.Unmarshal([]byte(text), &all)
	}
	if err != nil {
		return nil, fmt.Errorf("reading who signed the clinic's exercises: %w", err)
	}
	return all, nil
}

func (d *Desk) setSignOffs(ctx context.Context, all map[string]SignOff) error {
	text, err := json.Marshal(all)
	if err != nil {
		return err
	}
	return d.store.SetSetting(ctx, signOffSetting, string(text))
}

// signedAs is the sign-off of an exercise as it is written here; nil for none.
func signedAs(all map[string]SignOff, e coach.OwnExercise) *SignOff {
	if s, ok := all[e.ID]; ok && s.Fingerprint == exercisePrint(e) {
		return &s
	}
	return nil
}

// Exercises are the clinic's own (WriteExercise), as they stand in its settings.
func (d *Desk) Exercises(ctx context.Context, who Actor) ([]Exercise, error) {
	if err := who.check(WriteExercise); err != nil {
		return nil, err
	}
	return d.exercises(ctx)
}

// Unsigned are the ids of the clinic's exercises that nobody has signed as they
// are now: they can't be prescribed (WritePlan).
func (d *Desk) Unsigned(ctx context.Context, who Actor) (ids []string, err error) {
	if err := who.check(WritePlan); err != nil {
		return nil, err
	}
	clinic, err := d.Clinic(ctx)
	if err != nil {
		return nil, err
	}
	signed, err := d.signOffs(ctx)
	for _, e := range clinic.Exercises {
		if signedAs(signed, e) == nil {
			ids = append(ids, e.ID)
		}
	}
	return ids, err
}

func (d *Desk) exercises(ctx context.Context) ([]Exercise, error) {
	clinic, err := d.Clinic(ctx)
	if err != nil {
		return nil, err
	}
	signed, err := d.signOffs(ctx)
	if err != nil {
		return nil, err
	}
	recorded, err := d.store.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	var out []Exercise
	for _, e := range clinic.Exercises {
		out = append(out, Exercise{OwnExercise: e, Signed: signedAs(signed, e), Lines: d.lines(clinic.Voice, e, recorded)})
	}
	return out, nil
}

// exercise is one of them; ErrNotFound.
func (d *Desk) exercise(ctx context.Context, id string) (Exercise, error) {
	all, err := d.exercises(ctx)
	if err != nil {
		return Exercise{}, err
	}
	i := slices.IndexFunc(all, func(e Exercise) bool { return e.ID == id })
	if i < 0 {
		return Exercise{}, fmt.Errorf("%w: no exercise of the clinic's own is called %q", ErrNotFound, id)
	}
	return all[i], nil
}

// KeepExercise adds an exercise, or puts it in the place of the one of its id
// (WriteExercise). fresh is true where there must be none of that id yet;
// Refusal. Whoever signed the one before has not signed this one.
func (d *Desk) KeepExercise(ctx context.Context, who Actor, e coach.OwnExercise, fresh bool) error {
	return d.changeExercise(ctx, who, e.ID, "kept", func(all []coach.OwnExercise, i int) ([]coach.OwnExercise, error) {
		switch {
		case i < 0:
			return append(all, e), nil
		case fresh:
			return nil, refuse("id", "is the id of another exercise of yours already; choose another")
		}
		all[i] = e
		return all, nil
	})
}

// RemoveExercise takes an exercise out (WriteExercise). Plans that were approved
// with it keep it.
func (d *Desk) RemoveExercise(ctx context.Context, who Actor, id string) error {
	return d.changeExercise(ctx, who, id, "taken out", func(all []coach.OwnExercise, i int) ([]coach.OwnExercise, error) {
		if i < 0 {
			return nil, fmt.Errorf("%w: no exercise of the clinic's own is called %q", ErrNotFound, id)
		}
		return slices.Delete(all, i, i+1), nil
	})
}

// changeExercise changes the clinic's exercises; i is where the one of the id
// is, −1 for nowhere.
func (d *Desk) changeExercise(ctx context.Context, who Actor, id, did string, change func(all []coach.OwnExercise, i int) ([]coach.OwnExercise, error)) error {
	if err := who.check(WriteExercise); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		c, err := d.Clinic(ctx)
		if err != nil {
			return err
		}
		is := func(e coach.OwnExercise) bool { return e.ID == id }
		if c.Exercises, err = change(c.Exercises, slices.IndexFunc(c.Exercises, is)); err != nil {
			return err
		}
		if err := c.check(); err != nil {
			return err
		}
		if err := d.setClinic(ctx, c); err != nil {
			return err
		}
		void, err := d.endSignOff(ctx, id, c.Exercises)
		if err != nil {
			return err
		}
		return d.audit(ctx, who, WriteExercise, id, did+void)
	})
}

// endSignOff ends what was signed of an exercise that is another now, and says
// so.
func (d *Desk) endSignOff(ctx context.Context, id string, now []coach.OwnExercise) (said string, err error) {
	signed, err := d.signOffs(ctx)
	was, ok := signed[id]
	if err != nil || !ok || slices.ContainsFunc(now, func(e coach.OwnExercise) bool { return e.ID == id && signedAs(signed, e) != nil }) {
		return "", err
	}
	delete(signed, id)
	return fmt.Sprintf("; what %s signed on %s is void", was.By, was.At.UTC().Format(time.DateOnly)), d.setSignOffs(ctx, signed)
}

// SignExercise signs an exercise and what is recorded for it by the actor's
// name (SignExercise): from then on it may be prescribed, and its recordings go
// to stations. seen is the Fingerprint the actor looked at: ErrChanged where it
// is another by now.
func (d *Desk) SignExercise(ctx context.Context, who Actor, id, seen string) error {
	if err := who.check(SignExercise); err != nil {
		return err
	}
	err := d.change(ctx, func(ctx context.Context) error {
		e, err := d.exercise(ctx, id)
		if err != nil {
			return err
		}
		if e.Fingerprint() != seen {
			return fmt.Errorf("%w: look at the exercise again before it is signed", ErrChanged)
		}
		signed, err := d.signOffs(ctx)
		if err != nil {
			return err
		}
		if e.Signed == nil {
			signed[id] = SignOff{exercisePrint(e.OwnExercise), who.Name, d.Time()}
			if err := d.setSignOffs(ctx, signed); err != nil {
				return err
			}
		}
		did := "signed"
		for _, l := range e.Lines {
			if l.Recording == nil || l.Recording.Signed != "" {
				continue
			}
			if err := d.store.SignRecording(ctx, l.Recording.Hash, who.Name, d.Time()); err != nil {
				return err
			}
			did += fmt.Sprintf(", with the recorded %s (%s)", l.Line, l.Recording.Hash)
		}
		return d.audit(ctx, who, SignExercise, id, did)
	})
	if err == nil {
		d.allStationsChanged() // they fetch what is recorded
	}
	return err
}

// unsignedFaults are what keeps a draft from being approved: an exercise of the
// clinic's own that no supervisor has signed as the draft has it.
func (d *Desk) unsignedFaults(ctx context.Context, p *plan.Plan, text string) ([]coach.Fault, error) {
	if len(p.Own) == 0 {
		return nil, nil
	}
	signed, err := d.signOffs(ctx)
	if err != nil {
		return nil, err
	}
	at := lines([]byte(text))
	var out []coach.Fault
	for i, it := range p.Patients[0].Items {
		n := slices.IndexFunc(p.Own, func(e coach.OwnExercise) bool { return e.ID == it.Exercise })
		if n < 0 || signedAs(signed, p.Own[n]) != nil {
			continue
		}
		f := coach.Fault{File: prescriptionName, Key: "patient.item.exercise", Message: unsignedWords(p.Own[n], signed)}
		if i < len(at) {
			f.Line = at[i]
		}
		out = append(out, f)
	}
	return out, nil
}

func unsignedWords(e coach.OwnExercise, signed map[string]SignOff) string {
	if _, ok := signed[e.ID]; ok {
		return fmt.Sprintf("%s was changed since this was written; open the plan and keep it again, with the exercise as it was signed", e.Name)
	}
	return fmt.Sprintf("%s waits for a supervisor's sign-off; that is given under Clinic, Exercises of our own", e.Name)
}

// noteOwn says which of a plan file's own exercises nobody has signed here: the
// file's writer stands for them.
func (d *Desk) noteOwn(ctx context.Context, file string, p *plan.Plan) (notes []coach.Fault, err error) {
	signed, err := d.signOffs(ctx)
	for _, e := range p.Own {
		if signedAs(signed, e) == nil {
			notes = append(notes, coach.Fault{File: file, Key: "exercise.id", Warning: true,
				Message: fmt.Sprintf("%q is not an exercise that a supervisor has signed at this desk", e.ID)})
		}
	}
	return notes, err
}

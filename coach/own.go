package coach

import "strings"

// OwnPrefix begins the id of every exercise of a clinic's own, so that none
// can ever be taken for one of the catalogue.
const OwnPrefix = "own-"

// OwnStage is the one stage of an exercise of a clinic's own.
const OwnStage = "own"

// IsOwn reports whether an id is that of an exercise of a clinic's own.
func IsOwn(id string) bool { return strings.HasPrefix(id, OwnPrefix) }

// OwnExercise is an exercise the catalogue does not have, which a clinic stands
// for: its facts, and its words as staff typed them.
type OwnExercise struct {
	Exercise // with one stage, OwnStage; nothing to choose instead
	SetUp    string
	Care     string
	// VerbsOf and VerbsStage name what of the catalogue the movement is led
	// with the words of: the two verbs and the breathing cue.
	VerbsOf    string
	VerbsStage string
}

// Typed are the texts that are spoken as staff typed them.
func (e OwnExercise) Typed() []string { return []string{e.Name, e.SetUp, e.Care} }

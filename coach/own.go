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

// OwnLine is one of the texts of an exercise of a clinic's own that are spoken
// as staff typed them, by its key in a file.
type OwnLine string

// The lines.
const (
	NameLine  OwnLine = "name" // as it stands inside sentences
	SetUpLine OwnLine = "set_up"
	CareLine  OwnLine = "care"
)

// OwnLines are all of them.
var OwnLines = []OwnLine{NameLine, SetUpLine, CareLine}

// Line is the text of a line; empty for one that there is not.
func (e OwnExercise) Line(l OwnLine) string {
	return map[OwnLine]string{NameLine: e.Name, SetUpLine: e.SetUp, CareLine: e.Care}[l]
}

// Typed are the texts that are spoken as staff typed them.
func (e OwnExercise) Typed() (texts []string) {
	for _, l := range OwnLines {
		texts = append(texts, e.Line(l))
	}
	return texts
}

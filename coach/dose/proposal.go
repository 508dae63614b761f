package dose

import (
	"evenbell/coach"
)

// Action is what a proposal changes.
type Action string

// The actions.
const (
	Up     Action = "up"   // a heavier load
	Down   Action = "down" // less
	Reps   Action = "reps"
	Sets   Action = "sets"
	Stages Action = "stage"
	Hold   Action = "hold"
)

// Rule names why.
type Rule string

// The rules, in the order they are tried.
const (
	RuleSymptom      Rule = "symptom"
	RuleAfterSymptom Rule = "after-symptom"
	RuleLongGap      Rule = "long-gap"
	RuleGap          Rule = "gap"
	RuleRevert       Rule = "revert"
	RuleShort        Rule = "short"
	RuleShortOnce    Rule = "short-once"
	RuleEarly        Rule = "early"
	RuleBarred       Rule = "barred"
	RuleReady        Rule = "ready"
	RuleBigStep      Rule = "big-step"
	RuleMoreSets     Rule = "more-sets"
	RuleStage        Rule = "stage"
	RuleStuck        Rule = "stuck"
	RuleBuild        Rule = "build"
	RuleSteady       Rule = "steady"
)

// RuleVisit is beside the order: a step up held back because enough others
// rise at the same visit.
const RuleVisit Rule = "visit"

// Proposal is a next dose that nobody has approved yet. It does nothing until
// a named supervisor approves it.
type Proposal struct {
	Exercise string
	Action   Action
	From, To coach.Dose
	Rule     Rule
	Reasons  []string // in plain words, limits with their source
	Sessions []Session
	// Observe is true where staff have to watch: the first session of a big
	// step, and the effort before the first step up of an exercise.
	Observe bool
	Finding string // what a supervisor should look at; empty for nothing
}

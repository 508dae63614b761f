package coach

// CueKind names what a cue is for.
type CueKind string

// The kinds of cue, in the order they are written within one sample.
const (
	CueStop     CueKind = "stop"
	CuePause    CueKind = "pause"
	CueResume   CueKind = "resume"
	CueSetEnd   CueKind = "set_end"
	CueRestEnd  CueKind = "rest_end"
	CueTimerEnd CueKind = "timer_end"
	CueWarmUp   CueKind = "warm_up"
	CueCoolDown CueKind = "cool_down"
	CueRest     CueKind = "rest"
	CueAsk      CueKind = "ask"
	CueReady    CueKind = "ready"
	CueCountIn  CueKind = "count_in"
	CueLift     CueKind = "lift"
	CueTop      CueKind = "top"
	CueLower    CueKind = "lower"
	CueBottom   CueKind = "bottom"
	CueBeat     CueKind = "beat"
	CueBreath   CueKind = "breath"
	CueSay      CueKind = "say"
	CueDone     CueKind = "done"
)

// Pacing reports whether the kind leads a movement or counts time, and so
// may never sound once a person has pressed stop.
func (k CueKind) Pacing() bool {
	switch k {
	case CueCountIn, CueLift, CueTop, CueLower, CueBottom, CueBeat, CueBreath,
		CueWarmUp, CueCoolDown, CueRest, CueRestEnd, CueTimerEnd:
		return true
	}
	return false
}

// PacesSet reports whether what is said with a cue paces a movement: a count,
// a verb, a breath, the announcement of the last repetition.
func (c *Cue) PacesSet() bool {
	switch c.Kind {
	case CueCountIn, CueLift, CueLower, CueBreath:
		return true
	}
	return c.Phrase.ID == SayLastOne
}

// PhaseCue is the cue kind of a phase.
func PhaseCue(p Phase) CueKind { return CueKind(p) }

// Cue is one sound at one sample.
type Cue struct {
	At       Samples // first sample of the cue
	Kind     CueKind
	Tag      string
	Exercise string  // empty outside an item
	Set, Rep int     // from 1; 0 where they do not apply
	Side     Side    // NoSide where it does not apply
	Length   Samples // of a phase or a timer; 0 otherwise
	Phrase   Phrase  // what is spoken with it; the zero Phrase for nothing
}

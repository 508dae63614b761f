package coach

import (
	"encoding/json"
	"fmt"
	"time"
)

// EntryKind names what an entry records.
type EntryKind string

// The kinds of entry. Readers ignore kinds they do not know.
const (
	EntryStart        EntryKind = "start"
	EntrySessionStart EntryKind = "session_start"
	EntryPress        EntryKind = "press"
	EntryQuestion     EntryKind = "question"
	EntryNoAnswer     EntryKind = "no_answer"
	EntryWarmUpEnd    EntryKind = "warm_up_end"
	EntryItemStart    EntryKind = "item_start"
	EntrySetStart     EntryKind = "set_start"
	EntryRep          EntryKind = "rep"
	EntrySetEnd       EntryKind = "set_end"
	EntryEffort       EntryKind = "effort"
	EntryRestEnd      EntryKind = "rest_end"
	EntryPause        EntryKind = "pause"
	EntryResume       EntryKind = "resume"
	EntrySkip         EntryKind = "skip"
	EntryStop         EntryKind = "stop"
	EntryRelease      EntryKind = "release"
	EntryCoolDownEnd  EntryKind = "cool_down_end"
	EntrySessionEnd   EntryKind = "session_end"
	EntryVolume       EntryKind = "volume"
	EntryPractice     EntryKind = "practice" // a button tried in the introduction: never an answer, never a stop
	EntrySaid         EntryKind = "said"     // a sentence; what paces a set is not logged, its repetitions are
	EntryFault        EntryKind = "fault"
	EntrySound        EntryKind = "sound"
	EntryLink         EntryKind = "link"       // the desk was lost, or found again
	EntryHold         EntryKind = "hold"       // a tag is not coached here until it is cleared
	EntryClear        EntryKind = "clear"      // a tag's hold has ended
	EntryWrongCode    EntryKind = "wrong_code" // somebody pressed a code that clears nothing
	EntryHelp         EntryKind = "help"       // the station said that somebody is coming
	EntryRefused      EntryKind = "refused"    // at home: somebody wanted to exercise on a day that is not for it
	EntryShutdown     EntryKind = "shutdown"   // the program was told to end; a session that was going on has no end of its own
)

// Entry is one durable log record. A session fills Sample and below; the
// journal stamps the rest. Data is a pointer to the kind's data type, or nil.
type Entry struct {
	Epoch    string     `json:"epoch"` // begins anew with every start of the program
	Seq      int64      `json:"seq"`   // from 1 in an epoch, without gaps
	Boot     string     `json:"boot"`
	MonoNS   int64      `json:"mono_ns"`
	Wall     *time.Time `json:"wall"`    // UTC; null while the clock is not trusted
	Sample   Samples    `json:"sample"`  // on the session's sample clock
	Session  string     `json:"session"` // empty outside a session
	Kind     EntryKind  `json:"kind"`
	Tag      string     `json:"tag"`
	Item     int        `json:"item"` // from 1 in the patient's plan; 0 outside an item
	Exercise string     `json:"exercise"`
	Set      int        `json:"set"`
	Rep      int        `json:"rep"`
	Side     Side       `json:"side"`
	Data     any        `json:"data"`
	// Within is how far Wall may be off where the desk derived it from a contact;
	// 0 for the station's own. It is never written.
	Within time.Duration `json:"-"`
}

// StartData begins an epoch.
type StartData struct {
	PreviousEpoch string `json:"previous_epoch"`
	PreviousSeq   int64  `json:"previous_seq"`
	PreviousHash  string `json:"previous_hash"`
	// Gap is how long after that entry this one comes, the time without power
	// included; nil where no clock tells.
	Gap *Seconds `json:"gap_s,omitempty"`
}

// SessionStartData says what a session was made from.
type SessionStartData struct {
	Plan     string `json:"plan"` // fingerprints
	Protocol string `json:"protocol"`
	Voice    string `json:"voice"`
	Program  string `json:"program"`
	Speed    string `json:"speed"` // how much faster than real time; "1" for a person
	Part     Part   `json:"part"`
	// Recorded are the lines of the clinic's own exercises that were spoken from
	// recordings, and not by a machine.
	Recorded []RecordedData `json:"recorded,omitempty"`
	// Resumes is the session that was broken off and this one goes on with.
	Resumes string `json:"resumes,omitempty"`
}

// RecordedData is one recorded line: its words, and the hash by which the desk
// knows the recording.
type RecordedData struct {
	Text string `json:"text"`
	Hash string `json:"hash"`
}

// PressData is a raw press.
type PressData struct {
	Button Button  `json:"button"`
	At     Samples `json:"at"`
	Heard  Samples `json:"heard"`
}

// The question ids.
const (
	QuestionWell     = "well"
	QuestionSymptoms = "symptoms"
	QuestionTablets  = "tablets"
	QuestionWarmedUp = "warmed_up"
	QuestionAllRight = "all_right"
	QuestionSymptom  = "symptom"
	QuestionClosing  = "closing"
	// At home: QuestionTelephone asks whether it is within reach, and is asked
	// again until it is. QuestionRested asks before a session, where no clock
	// tells, whether the days between were kept.
	QuestionTelephone = "telephone"
	QuestionRested    = "rested"
	QuestionGoOn      = "go_on" // before a session: whether to go on with the one that was cut off
)

// The answers to questions put so that plus means all is well. The answer to
// QuestionSymptom is a Symptom.
const (
	AnswerWell    = "well"     // plus
	AnswerNotWell = "not_well" // minus
)

// QuestionData is an answered question.
type QuestionData struct {
	ID     string  `json:"id"`
	Answer string  `json:"answer"`
	AfterS Seconds `json:"after_s"` // from the end of the first prompt
}

// Unwell reports whether somebody said that all is not well: a "no" to
// whatever was asked, but for what only puts off a session.
func (d QuestionData) Unwell() bool {
	switch d.ID {
	case QuestionTelephone, QuestionRested, QuestionGoOn:
		return false
	}
	return d.Answer == AnswerNotWell
}

// NoAnswerData says what nobody answered.
type NoAnswerData struct {
	Waiting string `json:"waiting"` // a question id, "ready", "effort" or "paused"
}

// ItemStartData is the dose an item begins with.
type ItemStartData struct {
	Load  Load   `json:"load"`
	Reps  int    `json:"reps"`
	Sets  int    `json:"sets"`
	Stage string `json:"stage"`
	Sides Sides  `json:"sides"`
}

// RepData says whether a led repetition was confirmed by a tap, which sample
// was being heard when that tap was made, and how many milliseconds after the
// start of the nearest movement that is; below zero where it came before.
type RepData struct {
	Confirmed bool     `json:"confirmed"`
	TapSample *Samples `json:"tap_sample"`
	OffMS     *int     `json:"off_ms"`
}

// SetEnding says how a set ended.
type SetEnding string

// The ways a set ends.
const (
	EndedComplete SetEnding = "complete"
	EndedEnough   SetEnding = "enough"
	EndedStop     SetEnding = "stop"
	EndedFault    SetEnding = "fault"
)

// SetEndData is what was led and confirmed in a set. MeanS and SDS are the
// mean and the sample standard deviation of the seconds between taps in
// repetitions that follow one another; null where too few taps tell.
type SetEndData struct {
	Led       int       `json:"led"`
	Confirmed int       `json:"confirmed"`
	Ended     SetEnding `json:"ended"`
	MeanS     *Seconds  `json:"mean_s"`
	SDS       *Seconds  `json:"sd_s"`
}

// EffortData is the reserve a person named.
type EffortData struct {
	Reserve Reserve `json:"reserve"`
}

// RestEndData is how long the rest was.
type RestEndData struct {
	Seconds Seconds `json:"seconds"`
}

// ReleaseData says who freed the station.
type ReleaseData struct {
	By string `json:"by"`
}

// SkipData is what of a set had been led when the exercise was left out.
type SkipData struct {
	Led int `json:"led"`
}

// PracticeData is a button tried in the introduction.
type PracticeData struct {
	Button Button `json:"button"`
}

// VolumeData is the volume after a change.
type VolumeData struct {
	DB int `json:"db"`
}

// SaidData is a sentence that was said, from its entry's sample on: the words
// as spoken, and how loud, in dB against the reference level.
type SaidData struct {
	Phrase PhraseID `json:"phrase"`
	Text   string   `json:"text"`
	DB     float64  `json:"db"` // in whole tenths
}

// FaultData names a part that misbehaved, in plain words.
type FaultData struct {
	Part   string `json:"part"`
	Detail string `json:"detail"`
}

// PartPower is the part of a fault that names a session which an earlier start
// of the program had begun and the power cut off.
const PartPower = "power"

// Earlier reports whether the fault names a session of an earlier epoch, and so
// is about it but none of its entries.
func (d FaultData) Earlier() bool { return d.Part == PartPower }

// SoundData is which device the sound goes to, or how often it has run dry.
type SoundData struct {
	Device    string `json:"device,omitempty"`
	Underruns int    `json:"underruns,omitempty"`
}

// LinkData says that the desk was lost, or found again after some time.
type LinkData struct {
	Desk string   `json:"desk"`            // "lost" or "found"
	GapS *Seconds `json:"gap_s,omitempty"` // with found: since it was lost, or since the program started
}

// HoldData says why a tag is held. A hold of the desk's has an ID; one that
// came from an entry of this station names it.
type HoldData struct {
	ID     int64     `json:"id,omitempty"`
	Reason string    `json:"reason"`
	Since  time.Time `json:"since,omitzero"`
	Epoch  string    `json:"epoch,omitempty"`
	Seq    int64     `json:"seq,omitempty"`
}

// ClearData says who ended a hold: a name, or "telephone" for a code told over
// the telephone, which ends every hold the tag has here.
type ClearData struct {
	By      string `json:"by"`
	ID      int64  `json:"id,omitempty"` // of the desk's hold
	Epoch   string `json:"epoch,omitempty"`
	Seq     int64  `json:"seq,omitempty"`
	Counter int64  `json:"counter,omitempty"` // of the telephone code
}

// ByTelephone is who cleared a hold by a code told over the telephone.
const ByTelephone = "telephone"

// HelpData says who is coming, and to which entry.
type HelpData struct {
	By    string `json:"by"`
	Epoch string `json:"epoch"`
	Seq   int64  `json:"seq"`
}

// RefusedData says why a person's session did not begin, and when the next
// may; no day where that is not known.
type RefusedData struct {
	Reason Refusal `json:"reason"`
	Next   Day     `json:"next,omitempty"`
}

// Outcome says how a session ended.
type Outcome string

// The outcomes.
const (
	Completed     Outcome = "completed"
	FinishedEarly Outcome = "finished_early"
	Stopped       Outcome = "stopped"
	Abandoned     Outcome = "abandoned"
	NotStarted    Outcome = "not_started"
)

// SessionEndData says how a session ended.
type SessionEndData struct {
	Outcome Outcome `json:"outcome"`
}

// newData gives a pointer to the data type of a kind, or nil where it has none.
func newData(k EntryKind) any {
	switch k {
	case EntryStart:
		return &StartData{}
	case EntrySessionStart:
		return &SessionStartData{}
	case EntryPress:
		return &PressData{}
	case EntryQuestion:
		return &QuestionData{}
	case EntryNoAnswer:
		return &NoAnswerData{}
	case EntryItemStart:
		return &ItemStartData{}
	case EntryRep:
		return &RepData{}
	case EntrySetEnd:
		return &SetEndData{}
	case EntryEffort:
		return &EffortData{}
	case EntryRestEnd:
		return &RestEndData{}
	case EntrySkip:
		return &SkipData{}
	case EntryRelease:
		return &ReleaseData{}
	case EntryVolume:
		return &VolumeData{}
	case EntryPractice:
		return &PracticeData{}
	case EntrySaid:
		return &SaidData{}
	case EntryFault:
		return &FaultData{}
	case EntrySound:
		return &SoundData{}
	case EntrySessionEnd:
		return &SessionEndData{}
	case EntryLink:
		return &LinkData{}
	case EntryHold:
		return &HoldData{}
	case EntryClear:
		return &ClearData{}
	case EntryHelp:
		return &HelpData{}
	case EntryRefused:
		return &RefusedData{}
	}
	return nil
}

// UnmarshalJSON reads one line of a journal. Data becomes a pointer to the
// kind's data type; for a kind it does not know, or one without data, the
// generic form of whatever stands there.
func (e *Entry) UnmarshalJSON(b []byte) error {
	type plain Entry // without this method
	var raw struct {
		plain
		Data json.RawMessage `json:"data"`
	}
	if err := json.Unmarshal(b, &raw); err != nil {
		return fmt.Errorf("reading an entry: %w", err)
	}
	*e = Entry(raw.plain)
	if len(raw.Data) == 0 || string(raw.Data) == "null" {
		e.Data = nil
		return nil
	}
	data := newData(e.Kind)
	if data == nil {
		return json.Unmarshal(raw.Data, &e.Data)
	}
	if err := json.Unmarshal(raw.Data, data); err != nil {
		return fmt.Errorf("reading the data of a %s entry: %w", e.Kind, err)
	}
	e.Data = data
	return nil
}

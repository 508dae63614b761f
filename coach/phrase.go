package coach

// Phrase is something to say, with its slots; coach/script has the words. It
// is comparable, so it can key a cache. The zero Phrase says nothing.
type Phrase struct {
	ID       PhraseID
	Exercise string
	Stage    string
	Phase    Phase // Lift or Lower, for verbs
	N        int   // a number: a repetition, how many, which set
	Of       int   // out of how many
	Sides    Sides
	Side     Side
	Load     Load
	Hands    int // dumbbells held at once
	Seconds  int
	Name     string // a call word, a tag, a symptom; what staff typed
	When     When   // how a time is spoken of
	// AtHome is true where nobody of staff is near: where the script has other
	// words for that, they are said.
	AtHome bool
}

// PhraseID names a sentence.
type PhraseID string

// The sentences. The comment gives the slots each one uses and the sense of
// it; the words are the script's.
const (
	SayWelcome    PhraseID = "welcome"    // Name: tag or call word. It paces and records, is no monitor, no alarm; red button
	SayWelcomeOn  PhraseID = "welcome-on" // Name. The same, for a middle or last part: briefly
	SayUnapproved PhraseID = "unapproved" // nobody has approved this plan: only listen
	SayIntro      PhraseID = "intro"      // N from 1 to IntroLines: a line of the introduction to the sounds and buttons
	SayNote       PhraseID = "note"       // Name: a note staff typed, spoken where it can be; the words stand for it where it cannot

	AskWell        PhraseID = "ask-well"        // plus: feeling well
	AskSymptoms    PhraseID = "ask-symptoms"    // plus: no new symptoms since last time
	AskSincePlace  PhraseID = "ask-since-place" // plus: nothing felt since the last place
	AskTablets     PhraseID = "ask-tablets"     // plus: tablets taken
	AskWarmedUp    PhraseID = "ask-warmed-up"   // plus: warm-up done
	AskAllRight    PhraseID = "ask-all-right"   // plus: all is well (after "enough")
	AskClosing     PhraseID = "ask-closing"     // plus: felt well throughout and now
	AskTelephone   PhraseID = "ask-telephone"   // plus: the telephone is within reach
	SayFetch       PhraseID = "fetch-telephone" // fetch the telephone, and tap when it is there
	SayAlone       PhraseID = "alone"           // who lives alone: tell somebody, leave the door unlocked
	HintYesNo      PhraseID = "hint-yes-no"     // plus for yes, minus for no
	SayNotWell     PhraseID = "not-well"        // no exercise today; speak to your supervisor
	SayNeedsLook   PhraseID = "needs-look"      // aloud to the room: this place needs a look
	SayAbandoned   PhraseID = "abandoned"       // no answer: the session ends here
	SayVolume      PhraseID = "volume"          // Name: louder, softer, loudest, softest
	SayWarmUp      PhraseID = "warm-up"         // Seconds. Easy movement to begin with
	SayWarmUpTip   PhraseID = "warm-up-tip"     // N from 1 to 4: what to do now
	SayTimeLeft    PhraseID = "time-left"       // Seconds left
	SayWarmUpEnd   PhraseID = "warm-up-end"     // warm-up done
	SayCoolDown    PhraseID = "cool-down"       // Seconds
	SayCoolDownTip PhraseID = "cool-down-tip"   // N from 1 to 4
	SayCoolDownEnd PhraseID = "cool-down-end"   // cool-down done

	SayExercise   PhraseID = "exercise"     // Exercise, N of Of: "First exercise" for 1, "Last exercise" for Of, else "Next exercise"; then its name
	SayHowMany    PhraseID = "how-many"     // N repetitions, Of sets, Sides: "Ten times." "Ten times on each side." "Two sets of ten." "Ten in all, five a side"
	SayLoad       PhraseID = "load"         // Load, Hands 1 or 2: "Two and a half kilograms in each hand." "Band two." "No weight."
	SayLastTime   PhraseID = "last-time"    // Load, N: what was done last time
	SaySetUp      PhraseID = "set-up"       // Exercise, Stage: how to get into position
	SayCare       PhraseID = "care"         // Exercise, Stage: the one caution that matters
	SayOutAs      PhraseID = "out-as"       // Exercise, Stage: "Breathe out as you push."
	SayFreely     PhraseID = "freely"       // "Breathe freely."
	SayNextSet    PhraseID = "next-set"     // N of Of, Load, Hands: "Set two of two."
	SaySide       PhraseID = "side"         // Side, N: 1 first side, 2 the change of sides
	SayReady      PhraseID = "ready"        // tap when you are ready
	SaySettle     PhraseID = "settle"       // Load, Hands: take the weight now; under two seconds
	SayCountIn    PhraseID = "count-in"     // N: the bare number
	SayCount      PhraseID = "count"        // N: the bare number of the repetition
	SayCountVerb  PhraseID = "count-verb"   // N, Exercise, Stage, Phase: "One, push"
	SayVerb       PhraseID = "verb"         // Exercise, Stage, Phase: "ease back"
	SayLastOne    PhraseID = "last-one"     // the last repetition comes next
	SaySetEnd     PhraseID = "set-end"      // Load, Hands: weights down
	AskEffort     PhraseID = "ask-effort"   // how many more could you have done?
	HintEffort    PhraseID = "hint-effort"  // minus none or one, tap two to four, plus five or more
	SayEffort     PhraseID = "effort"       // Name: a Reserve, read back
	HintChange    PhraseID = "hint-change"  // press another to change it
	SayRest       PhraseID = "rest"         // Seconds. Rest, easy breathing, keep your feet moving or sit down
	SayRestSit    PhraseID = "rest-sit"     // Seconds. Sit up slowly, stay sitting before you stand
	SayComingUp   PhraseID = "coming-up"    // Exercise, Load, Hands: what comes next and what to fetch
	SayRestEnd    PhraseID = "rest-end"     // rest over
	SayPaused     PhraseID = "paused"       // paused; hold goes on, minus leaves it out, plus ends the exercises
	SayResume     PhraseID = "resume"       // N: going on from repetition N; 0: going on
	SaySkip       PhraseID = "skip"         // left out
	SayEnoughDone PhraseID = "enough-today" // the exercises end here for today
	SayDone       PhraseID = "done"         // all done, well done; what was recorded goes to your supervisor
	SayNext       PhraseID = "next"         // Name: a place, as staff typed it; When, Seconds or N, minutes from midnight: where to go next
	SayClosingNo  PhraseID = "closing-no"   // closing question answered no: stay, sit, speak to staff now

	SayStop        PhraseID = "stop"          // Stop. Put the weight down. Sit if you can. Call out now.
	AskSymptom     PhraseID = "ask-symptom"   // what do you feel? tap when I name it
	SaySymptom     PhraseID = "symptom"       // Name: a Symptom
	SayStopNoted   PhraseID = "stop-noted"    // noted; stay seated; staff release this station
	SayEmergency   PhraseID = "emergency"     // Name: what to do at home in an emergency, as staff typed it
	SayIfWorse     PhraseID = "if-worse"      // Name: the same, should it get worse
	SayRing        PhraseID = "ring-clinic"   // Name: a Telephone
	SayHelpComing  PhraseID = "help-coming"   // somebody has said that they are coming
	SayTrouble     PhraseID = "trouble"       // Name: a Trouble of the station
	SayReadyHere   PhraseID = "ready-here"    // the station is on and ready: tap to begin
	AskWho         PhraseID = "ask-who"       // who is here? plus and minus step, tap takes
	SayWho         PhraseID = "who"           // Name: the tag or call word alone
	AskIsItYou     PhraseID = "ask-is-it-you" // Name, Exercise, Load, Hands: tap if that is right, minus if not
	AskGoOn        PhraseID = "ask-go-on"     // Name, Exercise: the power went off in a session, or with N 1 the station was switched off; plus: go on at this exercise
	AskRested      PhraseID = "ask-rested"    // the clock is not set; plus: the days between were kept
	SayNotToday    PhraseID = "not-today"     // Name: a Refusal
	SayNextSession PhraseID = "next-session"  // N, how many days from today; Name: its weekday in small English letters
	SayReleased    PhraseID = "released"      // the station is free again
	SaySoundFault  PhraseID = "sound-fault"   // the sound stopped; paused until it is back
	SayPlaceLocked PhraseID = "place-locked"  // this place is stopped until staff release it
	SayCodeOffer   PhraseID = "code-offer"    // who has a code from the clinic, by telephone, presses hold
	AskCode        PhraseID = "ask-code"      // press the eight buttons of the code
	SayCodeRight   PhraseID = "code-right"    // cleared: you may exercise here again
	SayCodeWrong   PhraseID = "code-wrong"    // not the code; hold tries again
	SayCodeOver    PhraseID = "code-over"     // not the code, and no more tries for now; telephone the clinic
)

// IntroLines is how many lines the introduction has.
const IntroLines = 16

// Reserve is the answer to the effort question: repetitions left.
type Reserve string

// The reserves.
const (
	ReserveNone Reserve = "0-1"
	ReserveFew  Reserve = "2-4"
	ReserveMany Reserve = "5+"
)

// Symptom is an answer to what is felt after a stop.
type Symptom string

// The symptoms in the order they are asked: chest discomfort first, pressed
// by mistake last.
const (
	SymptomChest   Symptom = "chest"   // pressure, tightness or pain in chest, arm, jaw or back
	SymptomBreath  Symptom = "breath"  // more out of breath than usual
	SymptomDizzy   Symptom = "dizzy"   // dizzy, faint
	SymptomHeart   Symptom = "heart"   // heart racing or out of step
	SymptomPain    Symptom = "pain"    // pain in a joint, a muscle or the wound
	SymptomOther   Symptom = "other"   // something else
	SymptomMistake Symptom = "mistake" // pressed by mistake
)

// Symptoms lists them in order.
var Symptoms = []Symptom{SymptomChest, SymptomBreath, SymptomDizzy, SymptomHeart,
	SymptomPain, SymptomOther, SymptomMistake}

// Trouble is something wrong with a station, named aloud in plain words.
type Trouble string

// The troubles. Those that keep a session from starting say so.
const (
	TroublePlanMissing    Trouble = "plan-missing"    // no plan here: no session
	TroublePlanFaulty     Trouble = "plan-faulty"     // the plan cannot be read: no session
	TroublePlanUnapproved Trouble = "plan-unapproved" // nobody approved the plan: no session
	TroublePlanOtherDay   Trouble = "plan-other-day"  // the plan is not for today: no session
	TroubleRedMissing     Trouble = "red-missing"     // the red button is not connected: no session
	TroubleButtons        Trouble = "buttons"         // the buttons do not answer: no session
	TroubleStuck          Trouble = "stuck"           // a button is stuck
	TroubleSpaceLow       Trouble = "space-low"       // room for the record runs out within a month
	TroubleSpaceFull      Trouble = "space-full"      // a session could not be recorded whole: no session
	TroubleLogDamaged     Trouble = "log-damaged"     // an older record was damaged and is kept aside
	TroubleLogFailed      Trouble = "log-failed"      // the record can no longer be kept: everything stops
	TroubleClock          Trouble = "clock"           // the clock is not set
	TroubleVoice          Trouble = "voice"           // the plan's voice is damaged; English speaks instead
	TroublePower          Trouble = "power"           // the power went off in a session
	TroubleSwitchedOff    Trouble = "switched-off"    // the station was switched off in a session
	TroubleHeld           Trouble = "held"            // a supervisor has to clear this person first: no session
)

// Troubles lists them.
var Troubles = []Trouble{TroublePlanMissing, TroublePlanFaulty, TroublePlanUnapproved, TroublePlanOtherDay,
	TroubleRedMissing, TroubleButtons, TroubleStuck, TroubleSpaceLow, TroubleSpaceFull, TroubleLogDamaged,
	TroubleLogFailed, TroubleClock, TroubleVoice, TroublePower, TroubleSwitchedOff, TroubleHeld}

// Refusal is why nobody is coached at home today, though nothing is wrong.
type Refusal string

// The refusals.
const (
	RefusedDone  Refusal = "done"       // the exercises of the day are done
	RefusedEnded Refusal = "ended"      // a stop, or not feeling well, ended the day
	RefusedRest  Refusal = "rest"       // a day of rest
	RefusedOver  Refusal = "plan-over"  // the plan's last day has passed
	RefusedEarly Refusal = "plan-early" // the plan's first day is yet to come
)

// Refusals lists them.
var Refusals = []Refusal{RefusedDone, RefusedEnded, RefusedRest, RefusedOver, RefusedEarly}

package protocol

// Key names one value, as a protocol file writes it. Titles, units and sources
// stand in default.toml.
type Key string

// Keys of what a day plan may ask for.
const (
	RestFloor         Key = "rest-floor"
	RestMost          Key = "rest-most"
	WarmUpLeast       Key = "warm-up-least"
	WarmUpMost        Key = "warm-up-most"
	CoolDownLeast     Key = "cool-down-least"
	CoolDownMost      Key = "cool-down-most"
	RepsLeast         Key = "reps-least"
	RepsMost          Key = "reps-most"
	SetsMost          Key = "sets-most"
	ItemsUsual        Key = "items-usual"
	ItemsMost         Key = "items-most"
	PhaseLeast        Key = "phase-least"
	PhaseMost         Key = "phase-most"
	StillMost         Key = "still-most"
	SettleLeast       Key = "settle-least"
	SettleMost        Key = "settle-most"
	CountInMost       Key = "count-in-most"
	BreathEveryMost   Key = "breath-every-most"
	UsualLift         Key = "usual-lift"
	UsualLower        Key = "usual-lower"
	UsualRest         Key = "usual-rest"
	UsualSettle       Key = "usual-settle"
	UsualCountIn      Key = "usual-count-in"
	UsualBreathEvery  Key = "usual-breath-every"
	DumbbellMost      Key = "dumbbell-most"
	BandMost          Key = "band-most"
	SitBeforeStanding Key = "sit-before-standing"
	RestartWarmUp     Key = "restart-warm-up"
	AnswerRepeat      Key = "answer-repeat"
	AnswerLook        Key = "answer-look"
	AnswerAbandon     Key = "answer-abandon"
	DaysBetweenLeast  Key = "days-between-least"
	DaysBetweenMost   Key = "days-between-most"
)

// Keys of the precautions.
const (
	SternumWeeks   Key = "sternum-weeks"
	DeviceArmWeeks Key = "device-arm-weeks"
)

// Keys of the dose and what may follow it.
const (
	RangeBottom       Key = "range-bottom"
	RangeTop          Key = "range-top"
	StepLeast         Key = "step-least"
	StepMost          Key = "step-most"
	RepsStep          Key = "reps-step"
	RepsFloor         Key = "reps-floor"
	BigStepReserve    Key = "big-step-reserve"
	BigStepLess       Key = "big-step-less"
	BigStepLeast      Key = "big-step-least"
	SetsWanted        Key = "sets-wanted"
	SessionsAlike     Key = "sessions-alike"
	SessionsApart     Key = "sessions-apart"
	ClearSessions     Key = "clear-sessions"
	GapDays           Key = "gap-days"
	GapFactor         Key = "gap-factor"
	LongGapDays       Key = "long-gap-days"
	BarredSessions    Key = "barred-sessions"
	UpsPerVisit       Key = "ups-per-visit"
	UnchangedSessions Key = "unchanged-sessions"
	StartUpperLeast   Key = "start-upper-least"
	StartUpperMost    Key = "start-upper-most"
	StartLowerLeast   Key = "start-lower-least"
	StartLowerMost    Key = "start-lower-most"
	ReserveErrorNear  Key = "reserve-error-near"
	ReserveErrorFar   Key = "reserve-error-far"
	ReserveNear       Key = "reserve-near"
	EffortLeast       Key = "effort-least"
	EffortMost        Key = "effort-most"
	SessionsWeekLeast Key = "sessions-week-least"
	SessionsWeekMost  Key = "sessions-week-most"
)

// Keys of the review.
const (
	PaceTolerance  Key = "pace-tolerance"
	PaceKeptLeast  Key = "pace-kept-least"
	AdherenceLeast Key = "adherence-least"
	AdherenceWeeks Key = "adherence-weeks"
)

// Keys of the screening on the day.
const (
	SystolicMost             Key = "systolic-most"
	DiastolicMost            Key = "diastolic-most"
	SystolicAsk              Key = "systolic-ask"
	DiastolicAsk             Key = "diastolic-ask"
	SystolicLeast            Key = "systolic-least"
	HeartRateMost            Key = "heart-rate-most"
	HeartRateAsk             Key = "heart-rate-ask"
	HeartRateLeast           Key = "heart-rate-least"
	LyingFallSystolic        Key = "lying-fall-systolic"
	LyingFallDiastolic       Key = "lying-fall-diastolic"
	SittingFallSystolic      Key = "sitting-fall-systolic"
	SittingFallDiastolic     Key = "sitting-fall-diastolic"
	GlucoseLow               Key = "glucose-low"
	GlucoseKetones           Key = "glucose-ketones"
	GlucoseHigh              Key = "glucose-high"
	WeightGainThreeDays      Key = "weight-gain-three-days"
	MetsLeast                Key = "mets-least"
	InfarctionWeeks          Key = "infarction-weeks"
	InfarctionEnduranceWeeks Key = "infarction-endurance-weeks"
	StentWeeks               Key = "stent-weeks"
	StentEnduranceWeeks      Key = "stent-endurance-weeks"
)

// Keys of when staff stop an exercise.
const (
	StopSystolic     Key = "stop-systolic"
	StopDiastolic    Key = "stop-diastolic"
	StopSystolicFall Key = "stop-systolic-fall"
)

// Keys of the conditions, which have a verdict instead of a number.
const (
	UnstableCoronary      Key = "unstable-coronary"
	Arrhythmia            Key = "arrhythmia"
	Decompensated         Key = "decompensated"
	Stenosis              Key = "stenosis"
	PulmonaryHypertension Key = "pulmonary-hypertension"
	Carditis              Key = "carditis"
	Marfan                Key = "marfan"
	Dissection            Key = "dissection"
	Diabetes              Key = "diabetes"
	JointLimits           Key = "joint-limits"
	Device                Key = "device"
	RiskFactors           Key = "risk-factors"
	NotWell               Key = "not-well"
	NewSymptoms           Key = "new-symptoms"
	Admission             Key = "admission"
	TabletsMissed         Key = "tablets-missed"
	SprayMissing          Key = "spray-missing"
	StopSymptoms          Key = "stop-symptoms"
	StopArrhythmia        Key = "stop-arrhythmia"
)

package script

import (
	"strconv"

	"evenbell/coach"
)

// variant is the key of the sentence that fits a phrase's slots.
func variant(p coach.Phrase) string {
	switch p.ID {
	case coach.SayVolume, coach.SayEffort, coach.SaySymptom, coach.SayTrouble,
		coach.SayDone, coach.SaySkip, coach.SayPaused, coach.SayNotToday:
		return p.Name
	case coach.SayNextSession:
		return nextSession(p)
	case coach.AskGoOn:
		if p.N > 0 {
			return "switched-off"
		}
		return only
	case coach.SayNext:
		return nextVariant(p)
	case coach.SayIntro, coach.SayWarmUpTip, coach.SayCoolDownTip:
		return strconv.Itoa(p.N)
	case coach.SayExercise:
		return place(p.N, p.Of)
	case coach.SayHowMany:
		return howMany(p)
	case coach.SayLoad, coach.SayLastTime, coach.SayNextSet, coach.SayComingUp, coach.SaySettle, coach.SaySetEnd,
		coach.AskIsItYou:
		return loadVariant(p)
	case coach.SaySide:
		return sideVariant(p)
	case coach.SayResume:
		if p.N > 0 {
			return "at"
		}
		return "start"
	}
	return only
}

func place(n, of int) string {
	switch {
	case n == 1 && of == 1:
		return "only"
	case n == 1:
		return "first"
	case n == of:
		return "last"
	}
	return "next"
}

func nextVariant(p coach.Phrase) string {
	switch {
	case p.Name == "":
		return only
	case p.When == coach.WhenUnknown:
		return "place"
	}
	return string(p.When)
}

// nextSession is the weekday of a day within a week, the number of days to any
// other.
func nextSession(p coach.Phrase) string {
	switch {
	case p.N == 1:
		return "tomorrow"
	case p.N < 7 && p.Name != "":
		return p.Name
	}
	return "days"
}

func howMany(p coach.Phrase) string {
	sets, sides := "one-", p.Sides
	if p.Of > 1 {
		sets = "many-"
	}
	switch sides {
	case coach.EachSide, coach.LeftOnly, coach.RightOnly:
		return sets + string(sides)
	case coach.Alternating:
		switch {
		case p.N < 2:
			return sets + "both"
		case p.N%2 != 0 || p.N < 4:
			return sets + "alternating-odd"
		}
		return sets + "alternating"
	}
	return sets + "both"
}

func loadVariant(p coach.Phrase) string {
	switch p.Load.Kind() {
	case coach.BandLoad:
		return "band"
	case coach.DumbbellLoad:
		if p.Hands == 2 {
			return "two"
		}
		return "one"
	}
	return "body"
}

func sideVariant(p coach.Phrase) string {
	when, side := "first-", p.Side
	if p.N == 2 {
		when = "then-"
	}
	if side == coach.NoSide {
		side = coach.Both
	}
	return when + string(side)
}

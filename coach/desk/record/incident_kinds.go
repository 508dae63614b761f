package record

import "evenbell/coach"

// kindWords is how a kind of entry reads.
func kindWords(k coach.EntryKind) string {
	switch k {
	case coach.EntryStart:
		return "program started"
	case coach.EntrySessionStart:
		return "session started"
	case coach.EntryPress:
		return "button"
	case coach.EntryQuestion:
		return "answer"
	case coach.EntryNoAnswer:
		return "no answer"
	case coach.EntryWarmUpEnd:
		return "warm-up led to its end"
	case coach.EntryItemStart:
		return "exercise begun"
	case coach.EntrySetStart:
		return "set begun"
	case coach.EntryRep:
		return "repetition led"
	case coach.EntrySetEnd:
		return "set ended"
	case coach.EntryEffort:
		return "effort named"
	case coach.EntryRestEnd:
		return "rest ended"
	case coach.EntryPause:
		return "paused"
	case coach.EntryResume:
		return "went on"
	case coach.EntrySkip:
		return "left out"
	case coach.EntryStop:
		return "red button: stopped"
	case coach.EntryRelease:
		return "station released"
	case coach.EntryCoolDownEnd:
		return "cool-down led to its end"
	case coach.EntrySessionEnd:
		return "session ended"
	case coach.EntryVolume:
		return "volume changed"
	case coach.EntryPractice:
		return "button tried in the introduction"
	case coach.EntrySaid:
		return "said"
	case coach.EntryFault:
		return "a part misbehaved"
	case coach.EntrySound:
		return "sound device"
	case coach.EntryLink:
		return "link to the desk"
	case coach.EntryHold:
		return "tag held on the station"
	case coach.EntryClear:
		return "tag's hold ended on the station"
	case coach.EntryWrongCode:
		return "a code that clears nothing"
	case coach.EntryHelp:
		return "said that help is coming"
	case coach.EntryRefused:
		return "no session: not a day for it"
	case coach.EntryShutdown:
		return "the program was told to end"
	}
	return string(k)
}

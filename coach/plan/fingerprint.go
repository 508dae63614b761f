package plan

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"

	"evenbell/coach"
)

// Fingerprint is the SHA-256, in hexadecimal, of the plan's canonical doses.
//
// The canonical doses are what Write writes, with defaults filled in and every
// item's whole pace beside it, of what changes what a person does or under
// which precautions it was found safe: day and until; each patient's tag,
// part, warm-up and cool-down, the days between sessions at home and
// precautions; each item's exercise, sets,
// reps, load, side, stage and pace; each exercise of the clinic's own, whole,
// since its words say what to do; all of it in the order of the plan. Left
// out are comments and the order of keys, the approval, and what only changes
// what is heard or shown: clinic, voice, the clinic's unit, call words,
// notes, the guide, how much is said, where the patient goes next, what else
// there is of the home, and what was done last time.
//
// A key added to the format later is written only where it is used, so that
// plans without it keep their fingerprint.
func (p *Plan) Fingerprint() string {
	sum := sha256.Sum256(Write(p.doses()))
	return hex.EncodeToString(sum[:])
}

// doses is the plan with nothing left in it but its doses.
func (p *Plan) doses() *Plan {
	out := &Plan{Day: p.Day, Until: p.Until, Own: p.Own}
	for _, v := range p.Patients {
		v.Call, v.Note, v.Guide, v.Intro = "", "", "", false
		v.NextPlace, v.NextAt = "", ""
		if v.Home != nil {
			v.Home = &coach.Home{DaysBetween: v.Home.DaysBetween}
		}
		v.Items = slices.Clone(v.Items)
		for i := range v.Items {
			v.Items[i].Last, v.Items[i].Words = coach.Done{}, ""
		}
		out.Patients = append(out.Patients, v)
	}
	return out
}

package dose

import (
	"fmt"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// Start is a load to begin an exercise with.
type Start struct {
	Load    coach.Load
	Percent Range    // the published band, of the most that can be lifted once
	Grams   Range    // that band of the least the person is likely to manage once
	Below   bool     // nothing owned lies within the band: Load is lighter than it
	Reasons []string // in plain words, with their source
}

// StartBand is the published starting band in percent of the most that can be
// lifted once. The trunk takes the upper body's, which is the lighter.
func StartBand(p *protocol.Protocol, r coach.Region) (percent Range, allowed string) {
	if r == coach.LowerBody {
		return Range{p.Number(protocol.StartLowerLeast), p.Number(protocol.StartLowerMost)}, p.Allowed(protocol.StartLowerMost)
	}
	return Range{p.Number(protocol.StartUpperLeast), p.Number(protocol.StartUpperMost)}, p.Allowed(protocol.StartUpperMost)
}

// StartFrom chooses the dumbbell to begin with, given how many grams can be
// lifted once: the heaviest owned that is not above the published band of the
// range's lower end. The error says that nothing owned is light enough.
func StartFrom(p *protocol.Protocol, o Owned, r coach.Region, grams Range) (Start, error) {
	percent, allowed := StartBand(p, r)
	s := Start{Percent: percent, Grams: Range{grams.Low * percent.Low / 100, grams.Low * percent.High / 100}}
	load, ok := o.AtMost(s.Grams.High)
	if !ok {
		return s, fmt.Errorf("nothing owned is as light as %.2f kg, %s of the least that can be lifted once", s.Grams.High/1000, allowed)
	}
	s.Load, s.Below = load, load.Grams() < s.Grams.Low
	s.Reasons = []string{
		fmt.Sprintf("can lift about %.1f to %.1f kg once", grams.Low/1000, grams.High/1000),
		fmt.Sprintf("start at no more than %s of the lower figure: %.2f to %.2f kg", allowed, s.Grams.Low/1000, s.Grams.High/1000),
	}
	if s.Below {
		s.Reasons = append(s.Reasons, fmt.Sprintf("nothing owned lies between; %s is the next lighter", load))
	}
	return s, nil
}

// StartFromTrial is StartFrom after a trial set, such as ten times with two
// left. Only a dumbbell tells a mass.
func StartFromTrial(p *protocol.Protocol, o Owned, r coach.Region, trial coach.Load, reps, reserve int) (Start, error) {
	if trial.Kind() != coach.DumbbellLoad {
		return Start{}, fmt.Errorf("a trial set with %s tells no mass; use a dumbbell", trial)
	}
	grams, err := Capacity(p, trial.Grams(), reps, reserve)
	if err != nil {
		return Start{}, fmt.Errorf("judging the trial set: %w", err)
	}
	return StartFrom(p, o, r, grams)
}

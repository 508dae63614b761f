package catalogue

import "evenbell/coach"

// standingLegs are the leg exercises on the feet.
var standingLegs = []coach.Exercise{
	{
		ID: "half-squat", Name: "Half squat", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Quadriceps, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "holding-on", Name: "One hand on a chair or rail", Position: coach.Standing,
				First: coach.Lower, Sides: together, Loads: bodyOrDumbbell, Dumbbells: 1,
				Range: rightAngle, Bars: bars(coach.KneeTrouble)},
			{ID: "free", Name: "Not holding on", Position: coach.Standing,
				First: coach.Lower, Sides: together, Loads: bodyOrDumbbell, Dumbbells: 2,
				Range: rightAngle, Bars: bars(coach.KneeTrouble, coach.PoorBalance)},
		},
		Instead: instead{coach.KneeTrouble: "hip-extension", coach.PoorBalance: "chair-stand"},
	},
	{
		ID: "step-up", Name: "Step-up", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Quadriceps, coach.Gluteals, coach.Calves},
		Stages: []coach.Stage{
			{ID: "holding-on", Name: "Low step, one hand on a rail", Position: coach.Standing,
				First: coach.Lift, Sides: eachOrTurns, Loads: bodyOrDumbbell, Dumbbells: 1,
				Range: "a step no higher than half way up the shin",
				Bars:  bars(coach.PoorBalance, coach.KneeTrouble)},
			{ID: "free", Name: "Low step, not holding on", Position: coach.Standing,
				First: coach.Lift, Sides: eachOrTurns, Loads: bodyOrDumbbell, Dumbbells: 2,
				Range: "a step no higher than half way up the shin",
				Bars:  bars(coach.PoorBalance, coach.KneeTrouble)},
		},
		Instead: instead{coach.PoorBalance: "chair-stand", coach.KneeTrouble: "hip-extension"},
	},
	{
		ID: "heel-raise", Name: "Heel raise", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Calves},
		Stages: []coach.Stage{
			{ID: "holding-on", Name: "One hand on a chair or rail", Position: coach.Standing,
				First: coach.Lift, Sides: together, Loads: bodyOrDumbbell, Dumbbells: 1},
			{ID: "free", Name: "Not holding on", Position: coach.Standing,
				First: coach.Lift, Sides: together, Loads: bodyOrDumbbell, Dumbbells: 2,
				Bars: bars(coach.PoorBalance)},
			{ID: "off-a-step", Name: "Heels over the edge of a step, holding on", Position: coach.Standing,
				First: coach.Lower, Sides: together, Loads: body,
				Range: "heels no more than a little below the step",
				Bars:  bars(coach.PoorBalance)},
			{ID: "one-leg", Name: "On one leg, holding on", Position: coach.Standing,
				First: coach.Lift, Sides: oneByOne, Loads: bodyOrDumbbell, Dumbbells: 1,
				Bars: bars(coach.PoorBalance).side(coach.KneeTrouble)},
		},
		Instead: instead{coach.PoorBalance: "seated-heel-raise", coach.KneeTrouble: "seated-heel-raise"},
	},
	{
		ID: "hip-abduction", Name: "Standing side leg raise", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.HipSide, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "holding-on", Name: "Both hands on a chair or rail", Position: coach.Standing,
				First: coach.Lift, Sides: eachOrTurns, Loads: bodyOrBand,
				Bars: bars(coach.PoorBalance)},
			{ID: "fingertips", Name: "Fingertips on a chair or rail", Position: coach.Standing,
				First: coach.Lift, Sides: eachOrTurns, Loads: bodyOrBand,
				Bars: bars(coach.PoorBalance)},
		},
		Instead: instead{coach.PoorBalance: "seated-knees-apart"},
	},
	{
		ID: "hip-extension", Name: "Standing back leg raise", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Gluteals, coach.Hamstrings},
		Stages: []coach.Stage{
			{ID: "holding-on", Name: "Both hands on a chair or rail", Position: coach.Standing,
				First: coach.Lift, Sides: eachOrTurns, Loads: bodyOrBand,
				Range: "only as far as the back stays still",
				Bars:  bars(coach.LowerBackTrouble, coach.PoorBalance)},
		},
		Instead: instead{coach.LowerBackTrouble: "seated-knees-apart", coach.PoorBalance: "seated-knees-apart"},
	},
}

package catalogue

import "evenbell/coach"

// seatedLegs are the leg exercises done on, or from, a chair.
var seatedLegs = []coach.Exercise{
	{
		ID: "chair-stand", Name: "Chair stand", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Quadriceps, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "hands-on-thighs", Name: "Hands resting on the thighs", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: body,
				Bars: bars(coach.KneeTrouble)},
			{ID: "arms-crossed", Name: "Arms crossed", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: body,
				Bars: bars(coach.KneeTrouble, coach.PoorBalance)},
			{ID: "weight-held", Name: "One dumbbell held close to the body", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: dumbbell, Dumbbells: 1,
				Bars: bars(coach.Sternum, coach.KneeTrouble, coach.PoorBalance)},
		},
		Instead: instead{coach.Sternum: "half-squat", coach.KneeTrouble: "seated-knees-apart",
			coach.PoorBalance: "half-squat"},
	},
	{
		ID: "hamstring-curl", Name: "Band leg curl", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Hamstrings, coach.Calves},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, band from in front", Position: coach.Seated,
				First: coach.Lift, Sides: oneByOne, Loads: band,
				Bars: bars().side(coach.KneeTrouble)},
			{ID: "standing", Name: "Standing, both hands on a chair or rail", Position: coach.Standing,
				First: coach.Lift, Sides: oneByOne, Loads: band,
				Bars: bars(coach.KneeTrouble, coach.PoorBalance)},
		},
		Instead: instead{coach.KneeTrouble: "hip-extension", coach.PoorBalance: "chair-stand"},
	},
	{
		ID: "knee-extension", Name: "Seated knee extension", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Quadriceps},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, back against the chair", Position: coach.Seated,
				First: coach.Lift, Sides: turnsOrEach, Loads: bodyOrBand,
				Bars: bars().side(coach.KneeTrouble)},
		},
		Instead: instead{coach.KneeTrouble: "seated-knees-apart"},
	},
	{
		ID: "band-leg-press", Name: "Band leg press", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Quadriceps, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, band under the foot and held in both hands", Position: coach.Seated,
				First: coach.Lift, Sides: oneByOne, Loads: band,
				Bars: bars(coach.Sternum, coach.DeviceArm, coach.WristTrouble).side(coach.KneeTrouble)},
		},
		Instead: instead{coach.Sternum: "chair-stand", coach.DeviceArm: "chair-stand",
			coach.WristTrouble: "chair-stand", coach.KneeTrouble: "seated-knees-apart"},
	},
	{
		ID: "seated-march", Name: "Seated march", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.HipFront, coach.Abdominals},
		Stages: []coach.Stage{
			{ID: "supported", Name: "Back against the chair", Position: coach.Seated,
				First: coach.Lift, Sides: turnsOrEach, Loads: bodyOrBand},
			{ID: "sitting-tall", Name: "Sitting tall, away from the chair back", Position: coach.Seated,
				First: coach.Lift, Sides: turnsOrEach, Loads: bodyOrBand,
				Bars: bars(coach.LowerBackTrouble)},
		},
		Instead: instead{coach.LowerBackTrouble: "knee-extension"},
	},
	{
		ID: "seated-knees-apart", Name: "Seated knees apart", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.HipSide, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, band round the thighs", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: band},
		},
	},
	{
		ID: "seated-heel-raise", Name: "Seated heel raise", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Calves},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, dumbbells resting on the thighs if any", Position: coach.Seated,
				First: coach.Lift, Sides: bothOrTurns, Loads: bodyOrDumbbell, Dumbbells: 2},
		},
	},
	{
		ID: "toe-raise", Name: "Toe raise", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Shins},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, heels on the floor", Position: coach.Seated,
				First: coach.Lift, Sides: bothOrTurns, Loads: body},
			{ID: "standing", Name: "Standing, both hands on a chair or rail", Position: coach.Standing,
				First: coach.Lift, Sides: together, Loads: body,
				Bars: bars(coach.PoorBalance)},
		},
		Instead: instead{coach.PoorBalance: "seated-heel-raise"},
	},
}

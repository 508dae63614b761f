package catalogue

import "evenbell/coach"

// seatedTrunk are the trunk exercises for who stays off the mat. The effort
// gives each its name: both begin by giving way, the forward curl leaning
// back and the back extension leaning forward.
var seatedTrunk = []coach.Exercise{
	{
		ID: "seated-forward-curl", Name: "Seated forward curl", Region: coach.Trunk,
		Muscles: []coach.Muscle{coach.Abdominals, coach.HipFront},
		Stages: []coach.Stage{
			{ID: "hands-on-thighs", Name: "Hands resting on the thighs", Position: coach.Seated,
				First: coach.Lower, Sides: together, Loads: body,
				Range: "no further back than the chair back",
				Bars:  bars(coach.Sternum, coach.LowerBackTrouble)},
			{ID: "arms-crossed", Name: "Arms crossed", Position: coach.Seated,
				First: coach.Lower, Sides: together, Loads: body,
				Range: "no further back than the chair back",
				Bars:  bars(coach.Sternum, coach.LowerBackTrouble, coach.NeckTrouble)},
		},
		Instead: instead{coach.Sternum: "seated-march", coach.LowerBackTrouble: "pelvic-tilt",
			coach.NeckTrouble: "pelvic-tilt"},
	},
	{
		ID: "seated-back-extension", Name: "Seated back extension", Region: coach.Trunk,
		Muscles: []coach.Muscle{coach.LowerBack, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "hands-on-thighs", Name: "Hands resting on the thighs", Position: coach.Seated,
				First: coach.Lower, Sides: together, Loads: body,
				Range: "leaning forward no more than half way to the thighs",
				Bars:  bars(coach.LowerBackTrouble)},
			{ID: "arms-crossed", Name: "Arms crossed", Position: coach.Seated,
				First: coach.Lower, Sides: together, Loads: body,
				Range: "leaning forward no more than half way to the thighs",
				Bars:  bars(coach.LowerBackTrouble, coach.PoorBalance)},
		},
		Instead: instead{coach.LowerBackTrouble: "pelvic-tilt", coach.PoorBalance: "bridge"},
	},
}

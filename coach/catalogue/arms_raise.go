package catalogue

import "evenbell/coach"

// raises are the exercises that bring a straight arm up, never above the
// shoulder.
var raises = []coach.Exercise{
	{
		ID: "lateral-raise", Name: "Lateral raise", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Shoulders},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated", Position: coach.Seated,
				First: coach.Lift, Sides: bothOrTurns, Loads: dumbbellOrBody, Dumbbells: 2,
				Range: shoulderHeight, Bars: bars(coach.Sternum, coach.NeckTrouble).
					side(coach.ShoulderTrouble, coach.DeviceArm)},
			{ID: "standing", Name: "Standing", Position: coach.Standing,
				First: coach.Lift, Sides: bothOrTurns, Loads: dumbbellOrBody, Dumbbells: 2,
				Range: shoulderHeight, Bars: bars(coach.Sternum, coach.NeckTrouble, coach.PoorBalance).
					side(coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.ShoulderTrouble: "biceps-curl",
			coach.PoorBalance: "biceps-curl", coach.DeviceArm: "biceps-curl", coach.NeckTrouble: "biceps-curl"},
	},
	{
		ID: "front-raise", Name: "Front raise", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Shoulders, coach.Chest},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated", Position: coach.Seated,
				First: coach.Lift, Sides: turnsOrEach, Loads: dumbbellOrBody, Dumbbells: 2,
				Range: shoulderHeight, Bars: bars(coach.Sternum, coach.NeckTrouble).
					side(coach.ShoulderTrouble, coach.DeviceArm)},
			{ID: "standing", Name: "Standing", Position: coach.Standing,
				First: coach.Lift, Sides: turnsOrEach, Loads: dumbbellOrBody, Dumbbells: 2,
				Range: shoulderHeight,
				Bars: bars(coach.Sternum, coach.NeckTrouble, coach.PoorBalance, coach.LowerBackTrouble).
					side(coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.ShoulderTrouble: "biceps-curl",
			coach.LowerBackTrouble: "biceps-curl", coach.PoorBalance: "biceps-curl",
			coach.DeviceArm: "biceps-curl", coach.NeckTrouble: "biceps-curl"},
	},
}

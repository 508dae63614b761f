package catalogue

import "evenbell/coach"

// presses are the exercises that move a load away from the chest or straighten
// the elbow. Nothing stands in for a chest exercise while the breastbone heals.
var presses = []coach.Exercise{
	{
		ID: "wall-push-up", Name: "Wall push-up", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Chest, coach.Triceps},
		Stages: []coach.Stage{
			{ID: "near", Name: "Feet one small step from the wall", Position: coach.AtWall,
				First: coach.Lower, Sides: together, Loads: body,
				Bars: bars(coach.Sternum, coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
			{ID: "far", Name: "Feet two small steps from the wall", Position: coach.AtWall,
				First: coach.Lower, Sides: together, Loads: body,
				Bars: bars(coach.Sternum, coach.ShoulderTrouble, coach.LowerBackTrouble, coach.PoorBalance,
					coach.DeviceArm, coach.WristTrouble)},
		},
		Instead: instead{coach.Sternum: "", coach.ShoulderTrouble: "biceps-curl",
			coach.LowerBackTrouble: "chest-press", coach.PoorBalance: "chest-press",
			coach.DeviceArm: "biceps-curl", coach.WristTrouble: "chest-press"},
	},
	{
		ID: "chest-press", Name: "Seated band chest press", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Chest, coach.Triceps},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, band behind the chair back", Position: coach.Seated,
				First: coach.Lift, Sides: bothOrSingle, Loads: band, Range: shoulderHeight,
				Bars: bars(coach.Sternum).side(coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "", coach.ShoulderTrouble: "biceps-curl", coach.DeviceArm: "biceps-curl"},
	},
	{
		ID: "shoulder-press", Name: "Seated shoulder press", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Shoulders, coach.Triceps},
		Stages: []coach.Stage{
			{ID: "one-arm", Name: "Seated, one arm at a time", Position: coach.Seated,
				First: coach.Lift, Sides: oneByOne, Loads: dumbbellOrBody, Dumbbells: 1,
				Range: "the hand no higher than the supervisor has shown",
				Bars: bars(coach.Sternum, coach.NeckTrouble).
					side(coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
			{ID: "both-arms", Name: "Seated, both arms", Position: coach.Seated,
				First: coach.Lift, Sides: bothOrTurns, Loads: dumbbellOrBody, Dumbbells: 2,
				Range: "the hands no higher than the supervisor has shown",
				Bars: bars(coach.Sternum, coach.NeckTrouble, coach.LowerBackTrouble).
					side(coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.ShoulderTrouble: "biceps-curl",
			coach.LowerBackTrouble: "biceps-curl", coach.DeviceArm: "biceps-curl",
			coach.WristTrouble: "seated-row", coach.NeckTrouble: "biceps-curl"},
	},
	{
		ID: "triceps-kickback", Name: "Triceps kickback", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Triceps},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, leaning a little forward", Position: coach.Seated,
				First: coach.Lift, Sides: oneByOne, Loads: dumbbell, Dumbbells: 1,
				Bars: bars(coach.Sternum)},
			{ID: "hand-on-chair", Name: "Standing, leaning with one hand on a chair seat", Position: coach.Standing,
				First: coach.Lift, Sides: oneByOne, Loads: dumbbell, Dumbbells: 1,
				Bars: bars(coach.Sternum, coach.LowerBackTrouble, coach.WristTrouble)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.LowerBackTrouble: "seated-row",
			coach.WristTrouble: "seated-row"},
	},
}

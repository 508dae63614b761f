package catalogue

import "evenbell/coach"

// pulls are the exercises that draw a load towards the body.
var pulls = []coach.Exercise{
	{
		ID: "dumbbell-row", Name: "One-arm dumbbell row", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.UpperBack, coach.Biceps},
		Stages: []coach.Stage{
			{ID: "hand-on-chair", Name: "Leaning with one hand on a chair seat", Position: coach.Standing,
				First: coach.Lift, Sides: oneByOne, Loads: dumbbell, Dumbbells: 1,
				Bars: bars(coach.Sternum, coach.LowerBackTrouble, coach.WristTrouble).
					side(coach.ShoulderTrouble, coach.DeviceArm)},
			{ID: "hand-on-thigh", Name: "Leaning with one hand on the thigh", Position: coach.Standing,
				First: coach.Lift, Sides: oneByOne, Loads: dumbbell, Dumbbells: 1,
				Bars: bars(coach.Sternum, coach.LowerBackTrouble, coach.WristTrouble, coach.PoorBalance).
					side(coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.ShoulderTrouble: "shoulder-blade-squeeze",
			coach.LowerBackTrouble: "seated-row", coach.PoorBalance: "seated-row",
			coach.DeviceArm: "shoulder-blade-squeeze", coach.WristTrouble: "seated-row"},
	},
	{
		ID: "seated-row", Name: "Seated band row", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.UpperBack, coach.Biceps},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, band fixed in front", Position: coach.Seated,
				First: coach.Lift, Sides: bothOrSingle, Loads: band,
				Bars: bars(coach.Sternum).side(coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze",
			coach.ShoulderTrouble: "shoulder-blade-squeeze", coach.DeviceArm: "shoulder-blade-squeeze"},
	},
	{
		ID: "shoulder-blade-squeeze", Name: "Shoulder blade squeeze", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.UpperBack},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated, arms at the sides", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: body},
		},
	},
	{
		ID: "bow-and-arrow", Name: "Band bow and arrow", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.UpperBack, coach.Shoulders, coach.Biceps},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated", Position: coach.Seated,
				First: coach.Lift, Sides: oneByOne, Loads: band, Range: shoulderHeight,
				Bars: bars(coach.Sternum, coach.ShoulderTrouble, coach.DeviceArm, coach.NeckTrouble)},
			{ID: "standing", Name: "Standing", Position: coach.Standing,
				First: coach.Lift, Sides: oneByOne, Loads: band, Range: shoulderHeight,
				Bars: bars(coach.Sternum, coach.ShoulderTrouble, coach.PoorBalance, coach.DeviceArm,
					coach.NeckTrouble)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.ShoulderTrouble: "shoulder-blade-squeeze",
			coach.PoorBalance: "seated-row", coach.DeviceArm: "shoulder-blade-squeeze",
			coach.NeckTrouble: "seated-row"},
	},
	{
		ID: "band-pull-apart", Name: "Band pull-apart", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.UpperBack, coach.Shoulders},
		Stages: []coach.Stage{
			{ID: "low", Name: "Seated, hands at the height of the lowest ribs", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: band,
				Bars: bars(coach.Sternum, coach.ShoulderTrouble, coach.DeviceArm)},
			{ID: "chest-high", Name: "Seated, hands in front of the chest", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: band, Range: shoulderHeight,
				Bars: bars(coach.Sternum, coach.ShoulderTrouble, coach.DeviceArm, coach.NeckTrouble)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.ShoulderTrouble: "shoulder-blade-squeeze",
			coach.DeviceArm: "shoulder-blade-squeeze", coach.NeckTrouble: "seated-row"},
	},
	{
		ID: "biceps-curl", Name: "Biceps curl", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Biceps},
		Stages: []coach.Stage{
			{ID: "seated", Name: "Seated", Position: coach.Seated,
				First: coach.Lift, Sides: turnsOrBoth, Loads: dumbbellOrBand, Dumbbells: 2,
				Bars: bars(coach.Sternum).side(coach.WristTrouble)},
			{ID: "standing", Name: "Standing", Position: coach.Standing,
				First: coach.Lift, Sides: turnsOrBoth, Loads: dumbbellOrBand, Dumbbells: 2,
				Bars: bars(coach.Sternum, coach.PoorBalance).side(coach.WristTrouble)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.PoorBalance: "seated-row",
			coach.WristTrouble: "seated-row"},
	},
}

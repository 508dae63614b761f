package catalogue

import "evenbell/coach"

// mat are the exercises on the floor, all fours first: the shortest way down.
var mat = []coach.Exercise{
	{
		ID: "bird-dog", Name: "Bird dog", Region: coach.Trunk,
		Muscles: []coach.Muscle{coach.LowerBack, coach.Gluteals, coach.Shoulders},
		Stages: []coach.Stage{
			{ID: "arm-and-leg", Name: "Opposite arm and leg", Position: coach.OnAllFour,
				First: coach.Lift, Sides: turnsOnly, Loads: body,
				Range: "arm and leg no higher than the back", Bars: bars(coach.Sternum, coach.NoFloor,
					coach.ShoulderTrouble, coach.KneeTrouble, coach.PoorBalance, coach.DeviceArm, coach.WristTrouble)},
			{ID: "elbow-to-knee", Name: "Opposite arm and leg, elbow towards knee between", Position: coach.OnAllFour,
				First: coach.Lift, Sides: turnsOnly, Loads: body,
				Range: "arm and leg no higher than the back", Bars: bars(coach.Sternum, coach.NoFloor,
					coach.ShoulderTrouble, coach.KneeTrouble, coach.LowerBackTrouble, coach.PoorBalance,
					coach.DeviceArm, coach.WristTrouble, coach.NeckTrouble)},
		},
		Instead: instead{coach.Sternum: "bridge", coach.ShoulderTrouble: "bridge", coach.KneeTrouble: "bridge",
			coach.LowerBackTrouble: "pelvic-tilt", coach.NoFloor: "seated-back-extension",
			coach.PoorBalance: "bridge", coach.DeviceArm: "bridge", coach.WristTrouble: "bridge",
			coach.NeckTrouble: "pelvic-tilt"},
	},
	{
		ID: "bridge", Name: "Bridge", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.Gluteals, coach.Hamstrings, coach.LowerBack},
		Stages: []coach.Stage{
			{ID: "arms-down", Name: "Arms flat beside the body", Position: coach.OnBack,
				First: coach.Lift, Sides: together, Loads: body,
				Range: "hips no higher than a straight line from shoulders to knees",
				Bars:  bars(coach.NoFloor)},
			{ID: "arms-crossed", Name: "Arms crossed", Position: coach.OnBack,
				First: coach.Lift, Sides: together, Loads: body,
				Range: "hips no higher than a straight line from shoulders to knees",
				Bars:  bars(coach.NoFloor, coach.NeckTrouble)},
		},
		Instead: instead{coach.NoFloor: "chair-stand", coach.NeckTrouble: "chair-stand"},
	},
	{
		ID: "floor-fly", Name: "Floor fly", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Chest, coach.Shoulders},
		Stages: []coach.Stage{
			{ID: "bent-arms", Name: "Elbows well bent", Position: coach.OnBack,
				First: coach.Lower, Sides: bothOrSingle, Loads: dumbbell, Dumbbells: 2,
				Range: "the upper arm no lower than the floor",
				Bars: bars(coach.Sternum, coach.NoFloor).
					side(coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
			{ID: "long-arms", Name: "Elbows a little bent", Position: coach.OnBack,
				First: coach.Lower, Sides: bothOrSingle, Loads: dumbbell, Dumbbells: 2,
				Range: "the upper arm no lower than the floor",
				Bars: bars(coach.Sternum, coach.NoFloor).
					side(coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
		},
		Instead: instead{coach.Sternum: "", coach.NoFloor: "chest-press", coach.ShoulderTrouble: "biceps-curl",
			coach.DeviceArm: "biceps-curl", coach.WristTrouble: "chest-press"},
	},
	{
		ID: "triceps-extension", Name: "Lying triceps extension", Region: coach.UpperBody,
		Muscles: []coach.Muscle{coach.Triceps},
		Stages: []coach.Stage{
			{ID: "lying", Name: "Lying, the free hand steadying the arm", Position: coach.OnBack,
				First: coach.Lower, Sides: oneByOne, Loads: dumbbell, Dumbbells: 1,
				Range: "the weight beside the ear, no lower", Bars: bars(coach.Sternum, coach.NoFloor).
					side(coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
			{ID: "lying-both", Name: "Lying, both arms", Position: coach.OnBack,
				First: coach.Lower, Sides: together, Loads: dumbbell, Dumbbells: 2,
				Range: "the weights beside the ears, no lower", Bars: bars(coach.Sternum, coach.NoFloor,
					coach.ShoulderTrouble, coach.DeviceArm, coach.WristTrouble)},
		},
		Instead: instead{coach.Sternum: "shoulder-blade-squeeze", coach.NoFloor: "triceps-kickback",
			coach.ShoulderTrouble: "triceps-kickback", coach.DeviceArm: "triceps-kickback",
			coach.WristTrouble: "triceps-kickback"},
	},
	{
		ID: "curl-up", Name: "Curl-up", Region: coach.Trunk,
		Muscles: []coach.Muscle{coach.Abdominals},
		Stages: []coach.Stage{
			{ID: "hands-to-knees", Name: "Hands sliding up the thighs", Position: coach.OnBack,
				First: coach.Lift, Sides: together, Loads: body, Range: quarterWay,
				Bars: bars(coach.Sternum, coach.LowerBackTrouble, coach.NoFloor, coach.NeckTrouble)},
			{ID: "arms-crossed", Name: "Arms crossed", Position: coach.OnBack,
				First: coach.Lift, Sides: together, Loads: body, Range: quarterWay,
				Bars: bars(coach.Sternum, coach.LowerBackTrouble, coach.NoFloor, coach.NeckTrouble)},
		},
		Instead: instead{coach.Sternum: "pelvic-tilt", coach.LowerBackTrouble: "pelvic-tilt",
			coach.NoFloor: "seated-forward-curl", coach.NeckTrouble: "pelvic-tilt"},
	},
	{
		ID: "pelvic-tilt", Name: "Pelvic tilt", Region: coach.Trunk,
		Muscles: []coach.Muscle{coach.Abdominals, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "lying", Name: "Lying, knees bent", Position: coach.OnBack,
				First: coach.Lift, Sides: together, Loads: body, Bars: bars(coach.NoFloor)},
			{ID: "seated", Name: "Seated, away from the chair back", Position: coach.Seated,
				First: coach.Lift, Sides: together, Loads: body},
		},
		Instead: instead{coach.NoFloor: "seated-march"},
	},
	{
		ID: "lying-march", Name: "Lying march", Region: coach.Trunk,
		Muscles: []coach.Muscle{coach.Abdominals, coach.HipFront},
		Stages: []coach.Stage{
			{ID: "feet-down", Name: "From both feet on the floor", Position: coach.OnBack,
				First: coach.Lift, Sides: turnsOnly, Loads: body,
				Range: "the knee no nearer than above the hip", Bars: bars(coach.NoFloor)},
			{ID: "toe-tap", Name: "From both knees above the hips", Position: coach.OnBack,
				First: coach.Lower, Sides: turnsOnly, Loads: body,
				Range: "the toes no lower than a light touch on the floor",
				Bars:  bars(coach.LowerBackTrouble, coach.NoFloor)},
		},
		Instead: instead{coach.LowerBackTrouble: "pelvic-tilt", coach.NoFloor: "seated-march"},
	},
	{
		ID: "clam", Name: "Clam", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.HipSide, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "lying", Name: "On the side, knees bent", Position: coach.OnSide,
				First: coach.Lift, Sides: oneByOne, Loads: bodyOrBand,
				Range: "only as far as the hips stay still",
				Bars:  bars(coach.Sternum, coach.NoFloor, coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "hip-abduction", coach.NoFloor: "seated-knees-apart",
			coach.ShoulderTrouble: "hip-abduction", coach.DeviceArm: "hip-abduction"},
	},
	{
		ID: "side-leg-raise", Name: "Side-lying leg raise", Region: coach.LowerBody,
		Muscles: []coach.Muscle{coach.HipSide, coach.Gluteals},
		Stages: []coach.Stage{
			{ID: "lying", Name: "On the side, top leg straight", Position: coach.OnSide,
				First: coach.Lift, Sides: oneByOne, Loads: bodyOrBand,
				Range: "the foot no higher than the top shoulder",
				Bars:  bars(coach.Sternum, coach.NoFloor, coach.ShoulderTrouble, coach.DeviceArm)},
		},
		Instead: instead{coach.Sternum: "hip-abduction", coach.NoFloor: "hip-abduction",
			coach.ShoulderTrouble: "hip-abduction", coach.DeviceArm: "hip-abduction"},
	},
}

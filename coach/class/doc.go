// Package class is a class of patients who go round the places of a gym: its
// file, who does which items where, and the day plans for the stations.
//
// It may know plans and the timetable's numbers, and nothing of sound, files or
// clocks: how long a session takes it is told by a [Measure].
//
// The format is "class/1", in TOML:
//
//	plan       = "monday.toml" # the approved whole sessions, beside the class file
//	begins     = "09:30"
//	latest_end = 7200          # optional; seconds from the beginning
//	mat_last   = true          # optional: the mat after all other work, though the class may end later
//	walk       = 15            # seconds between any two places
//	warm_up    = { name = "the open floor", capacity = 4 } # and cool_down; spoken as for a place
//	[[place]]
//	name      = "Window"       # the station's
//	stands    = "by the window" # optional, for the wall
//	spoken    = "the place by the window" # optional: as stations say it; else the name
//	positions = ["seated", "standing"] # and "wall", "mat"
//	loads     = ["band", "dumbbell"]   # optional; body weight goes everywhere
//	[[walk_between]]
//	places  = ["Window", "Corner"]
//	seconds = 30
//	[[patient]]                # optional: what the class adds to the plan
//	tag         = "K4"
//	arrives     = 120          # seconds from the beginning
//	fixed_order = true
//
// Invariants it keeps:
//   - The plans made for the stations hold exactly the doses of the plan they
//     were made from, and carry its fingerprint.
//   - A stay is timed as the station will coach it, in the longest way it may.
package class

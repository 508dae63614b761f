// Package plan reads, checks, fingerprints and writes the day plan: what one
// station will coach on one day.
//
// It may know the catalogue, the protocol and the strict reader, and nothing
// of sound, sessions or stations. It touches no file: text comes in and goes
// out as bytes.
//
// The format is "day-plan/1", in TOML. Besides the keys everybody writes it
// takes these, all optional:
//
//	[approval]
//	parent = "…"              # fingerprint of the approved plan this one was made from, no dose changed
//	[[exercise]]              # of the clinic's own: one the catalogue does not have
//	id = "own-towel-pull"     # own- and small letters
//	name = "towel pull"       # as in the middle of a sentence; spoken as typed, like the next two
//	set_up = "Sit tall. Hold the towel with both hands."
//	care = "Keep your shoulders low."
//	region = "upper"          # upper, lower, trunk
//	muscles = ["biceps"]      # the one worked most first
//	position = "seated"
//	first = "lift"            # or "lower": what the movement begins with
//	sides = ["both"]          # the ways it can be shared, the usual one first
//	loads = ["body", "band"]  # and "dumbbell"
//	dumbbells = 2             # in use when both sides work; only with "dumbbell"
//	bars = ["wrist"]          # precautions that rule it out; [] where somebody has thought and none does
//	bars_one_side = ["shoulder"] # those under which the other side may work
//	verbs_of = "biceps-curl"  # whose verbs and breathing cue lead it
//	verbs_stage = "seated"    # optional
//	[[patient]]
//	intro = true              # play the introduction to the sounds and buttons first
//	note = "Mind the new shoes." # up to 200 letters, spoken aloud after the welcome: nothing private
//	warm_up_elsewhere = true  # warmed up before coming here: warm_up is left out, and the session asks
//	cool_down_elsewhere = true # cooled down after leaving here: cool_down is left out, and the session says so
//	next_place = "the place by the window" # where to go on to from here, spoken aloud at the end
//	next_at = "09:10"         # when it is free there, on the clinic's clock; only with next_place
//	[patient.home]            # exercises at home: nobody of staff is near; only with part = "whole"
//	telephone = "020 912 0456" # of the clinic, as it is dialled from there; spoken digit by digit
//	emergency = "Call the emergency number, then Astrid." # optional; up to 200 letters, spoken after a stop
//	alone = true              # lives alone
//	days_between = 1          # whole days between two days with exercise; default and bounds from the protocol
//	[[patient.precaution]]
//	since = 2026-01-05        # the event; a sternum or device-arm precaution without until lasts the protocol's weeks from here
//	[[patient.item]]
//	side       = "left"       # or "right": one side alone, where a stage can be done a side at a time
//	last_load  = "2 kg"       # what was done last time, told to the patient; both or neither
//	last_reps  = 10
//	words      = "brief"      # for who knows the exercise: "full" says how to do it before the first set
//	lift       = 2.5          # any key of [pace], for this item
//
// Invariants it keeps:
//   - A plan read without error is safe to coach by the protocol it was read
//     against: every dose within bounds, nothing against a precaution in force
//     on any of its days.
//   - A plan read is complete: sets, side, stage and pace are filled in with
//     their defaults, so that what was approved never changes with them.
//   - Writing a plan and reading it back gives the same plan.
//   - The fingerprint changes with whatever changes what a person does.
package plan

package plan

// CallWords are the words a person may be called by instead of a tag, chosen
// by ear, with no published source: two or three syllables, no two beginning
// with the same letter, none of them a number, a side, a movement, a symptom
// or anything else a session says. The voice packs hold a clip of each.
var CallWords = []string{
	"anchor", "barley", "candle", "dolphin", "ember", "feather", "garden", "heron", "island", "jasmine",
	"kettle", "lantern", "maple", "needle", "orchard", "pebble", "quarry", "robin", "saddle", "thistle",
	"umbrella", "velvet", "walnut", "yarrow",
}

// Package catalogue holds the exercises the house can coach and what the
// trade knows of each: stages from easier to harder, position, first phase,
// sides, loads, muscles, range limits, and which precautions rule a stage out.
//
// It holds facts, not words: what is spoken is in coach/script. It imports
// only the vocabulary, and knows no plan, dose, clinical number or date; who
// asks has already left out precautions that are no longer in force.
// Everything it hands out is shared and read-only.
//
// Invariants, each held by a test: ids are kebab-case and unique; an
// exercise's Instead has exactly the precautions that bar one of its stages,
// and what it names may be begun under that precaution; no exercise is a
// still hold, since holds invite breath holding; under any one precaution a
// whole session can still be made.
//
// What bars what is common practice, no source, told apart as follows:
//
//   - a healing breastbone bars every arm exercise against a load, lying on
//     the side, and whatever pulls the belly wall against the ribs;
//   - no floor bars every position on the mat;
//   - poor balance bars standing on one leg, and standing with nothing to
//     hold on to;
//   - a device arm bars raising that arm and drawing it against a load, but
//     not bending the elbow with the upper arm at rest;
//   - a bad wrist bars weight on the hands, and a dumbbell that tips the hand;
//   - a bad shoulder, knee, neck or lower back bars what loads it or bends
//     it far.
package catalogue

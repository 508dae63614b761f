// Package simulated tries the dose rules on simulated patients, for a year.
//
// It may know coach, dose and protocol; it is pure, and all its randomness
// comes from the generator it is given, so the same seed gives the same year.
//
// The model, each number of it chosen here and named in [Model]:
//
//   - Strength. A person can lift so much once, drawn from a log-normal
//     distribution, and gains towards a plateau of 10 to 40 % more with the
//     sessions they do. After ten days away they lose half a per cent a day of
//     what they have, down to where they began. From day to day it varies by 3 %.
//   - Repetitions. How many a load allows follows Epley's form with a constant
//     of the person's own, from 15 to 60 where Epley has 30: so 6 to 26
//     repetitions at 70 % of the maximum, as people were measured to differ.
//   - Effort. People name their reserve with an error of about one repetition
//     near the last and of more than two far from it, and each leans one way
//     by up to one. They end a set when they feel nothing is left. Three in a
//     hundred questions go unanswered.
//   - Attendance. Two visits a week, of which a person misses between none and
//     four in ten; one week in sixty begins an absence of two to six weeks; one
//     session in five hundred ends in a stop, cleared three days later.
//   - Staff. They choose the first load from a trial set and approve nineteen
//     of twenty proposals before the next visit. Where the rules say that a dose
//     is stuck they try the next load for a set, and move up where ten
//     repetitions leave two. After weeks away they begin again one load lower.
//
// It shows how the rules behave, not how patients do.
package simulated

// Package strict reads the house's TOML files so that every fault of a file
// is reported at once, each with its line, its dotted key and what is allowed.
//
// It is for every format of ours: day plan, protocol, class, station. It may
// know coach's faults and days and nothing else of ours: no format's keys and
// no limit. A reader parses a file, asks its tables for the keys it knows,
// and collects the faults at the end:
//
//	f := strict.Parse(name, text)
//	if t := f.Root(); f.Format("station", 1) {
//		station.Name, _ = t.Text("name", strict.Required)
//		if d, ok := t.Seconds("wait", strict.Optional); ok && d > limit {
//			t.Fault("wait", "is %v; at most %v", d, limit)
//		}
//	}
//	faults := f.Faults()
//
// Invariants it keeps:
//   - Asking is declaring: a key nobody asked for is an unknown key, and the
//     keys that were asked for are what is allowed.
//   - A syntax error costs its own line only; reading goes on below it.
//   - A key that could not be read is never reported as missing as well.
//   - Decimals are never rounded: seconds come from the digits as written.
//   - nan, inf, keys given twice, dates that do not exist and times without a
//     zone are faults wherever they stand.
//   - Every fault carries a line within the file and fits on one line.
//
// A byte-order mark and CRLF line ends are accepted, since some editors write
// them unasked.
package strict

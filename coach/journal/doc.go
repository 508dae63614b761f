// Package journal keeps what happened: as JSON lines that any program can
// read, and as the durable log on the device.
//
// It may know coach's entries and nothing else of ours: not what a session
// is, not who reads the log, not where sound comes from.
package journal

package desk

import "context"

// Tests try many passwords, and what one guess costs is no matter of theirs.
func init() { argon.memory = 64 }

// WatchClasses looks at the running classes once, as Run does again and again.
func (d *Desk) WatchClasses(ctx context.Context) error { return d.watchClasses(ctx) }

// ThisProgram is what digests of this program are kept by.
var ThisProgram = thisProgram

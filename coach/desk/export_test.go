package desk

import "context"

// WatchClasses looks at the running classes once, as Run does again and again.
func (d *Desk) WatchClasses(ctx context.Context) error { return d.watchClasses(ctx) }

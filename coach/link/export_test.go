package link

import (
	"context"
	"net"
)

// OnlyOn keeps discovery to one interface.
func OnlyOn(i net.Interface) { onlyOn = []net.Interface{i} }

// HOTP is the number under a telephone code.
var HOTP = hotp

// Decode reads JSON strictly.
var Decode = decode

// Deliver sends all that the desk lacks, one try right after the other, and
// gives how many failed.
func (c *Client) Deliver(ctx context.Context) (failed int) {
	u := &uploader{c: c, reader: lazyReader{open: c.Open}, size: MaxBatch}
	defer u.reader.close()
	defer c.backlog.drop()
	for ctx.Err() == nil {
		more, err := u.step(ctx)
		switch {
		case err != nil:
			failed++
		case !more:
			return failed
		}
	}
	return failed
}

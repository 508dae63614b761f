package link

import "net"

// OnlyOn keeps discovery to one interface.
func OnlyOn(i net.Interface) { onlyOn = []net.Interface{i} }

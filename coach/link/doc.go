// Package link joins a station and its desk: plans and holds go down, the log
// goes up, and a stop reaches people before anything else.
//
// It may know coach and the log's lines, and nothing of sessions, sound,
// stores or pages. It decides nothing: the desk's rules are behind [Desk], the
// station's behind [Client]'s fields.
//
// # On the wire
//
// HTTP/2 over TLS 1.3 with the protocol name [ALPN], so that browsers on the
// same address are never asked for a certificate. Both ends show a certificate
// of their own making and know each other by the SHA-256 of the public key in
// it; dates and names in certificates are ignored, since a device without a
// clock believes that it is 1970. Bodies are JSON, read strictly and bounded;
// refusals are problem details (RFC 9457).
//
//	POST /link/1/enrol    a one-time code lets a device in       [Proof] → [Welcome]
//	POST /link/1/marks    which entries does the desk have?      [MarksAsked] → [Marks]
//	POST /link/1/entries  a batch of the log, as it stands there [Batch] → [Mark]
//	POST /link/1/urgent   entries that people must see now       [Urgent] → nothing
//	POST /link/1/status   how the station is                     [Status] → [Met]
//	GET  /link/1/down     what the station is to know: a line of JSON for each
//	                      [State], and an empty line a second
//	GET  /link/1/plan     the day plan that the State names      → [Plan]
//	GET  /link/1/recording  a recorded line that the State names → [Recording]
//
// # Promises
//
//   - An entry takes effect at the desk once, whatever is lost, cut, delayed,
//     sent twice or sent out of order: a batch names the number before its
//     first entry and the hash of the chain there, and the desk moves its mark
//     only from that number on. The answer is the mark, never "done".
//   - What the desk lacks and the station still has is sent again, also when
//     the desk was put back from an older backup; what the station no longer
//     has is said to be gone, never passed over.
//   - Urgent entries go on a connection of their own, newest first, whatever
//     is waiting elsewhere, and again until the desk has said that it has them.
//   - What goes down is always the whole state, never a change to it, so a lost
//     message is made good by the next.
//   - A plan or a recording is taken only where its hash is the one that the
//     State names, and kept whole or not at all.
//   - A peer that has fallen silent is noticed within five seconds at both ends.
//   - The one-time code never travels. It keys a MAC over both public keys, so
//     who is between the two can neither use it nor learn it.
package link

import "time"

// ALPN is the name of the protocol in the TLS handshake.
const ALPN = "evenbell-link/1"

// Silence is how long a peer may be silent before it counts as lost.
const Silence = 5 * time.Second

// alive is how often something is sent where there is nothing to say.
const alive = time.Second

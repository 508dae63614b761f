// Package web is the staff's pages: who needs me now, the day, the stations,
// patients and their plans, the review, the clinic and the records.
//
// It may know coach and its pure rooms, the desk, its store and its records. It
// decides nothing: who may do what, what a plan becomes and what an attention
// means is the desk's matter, and a page shows it or asks for it.
//
// How a page is made. The table in routes.go has a line for each address: the
// method and path, the roles that may, and the function that serves it. The
// function gets a visit, which knows who is asking; it ends with visit.page
// (a template with its data), visit.back (after a POST: another page, and a
// word about what was done) or an error, which becomes a page in plain words.
// A template is a file in templates that defines "main"; every style sheet in
// assets/css and every script in assets/js is joined, in the order of their
// names, into the one file of its kind that browsers fetch once.
//
// Invariants it keeps:
//   - Nothing is served that the table does not give the asking role.
//   - Only html/template writes what people typed, and the content security
//     policy runs no script and no style but ours.
//   - Everything works without scripts but what is live: news and the alarm.
//   - What somebody typed is not lost to a mistake or to a login that ran out.
//   - A change is a POST that comes from our own pages.
package web

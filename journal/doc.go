// Package journal holds what happened to one engine: the event types, their
// JSON Lines text, the hash chain of an export, and the fold from events to
// state.
//
// A journal is append-only. Nothing in it is edited or deleted: a mistake is
// struck by a later event and stays readable, as on paper. [Read] takes the text
// of a journal and never fails as a whole; a line that cannot be used is set
// aside and reported by its number, and the rest is used. [Journal.Fold] applies
// strikes and repeated deliveries and gives the [State] that an assessment
// starts from. [Event.Encode] writes one event, [Export] a whole journal with a
// sequence number and a hash in each line, so that a page torn out shows.
//
// The package knows nothing of packs: whether a reading names a dimension that
// exists, whether its value is a length, whether an operation may be done, is for
// the assessment to say. It reads no clock and makes no ids; both come in as
// arguments.
//
// The format is fixed in docs/journal-format.md.
package journal

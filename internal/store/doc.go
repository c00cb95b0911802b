// Package store keeps the shop's record: the journals of all jobs, the exact text
// of the packs they were started on, and photos, in one data folder.
//
//	buttonup.db   the database; beside it, while it is open, -wal and -shm
//	photos/       each photo under the SHA-256 of its content
//	lock          who has the folder open
//	keys/         not ours; a backup leaves it out unless asked
//
// What the store promises:
//
//   - [Store.Append] returns only after the events are on the disk. What it has
//     acknowledged survives a killed program and, as far as the disk keeps its
//     word, a power cut.
//   - An event is known by its id within its job. Sent twice it is kept once; the
//     same id with other content is kept out of the journal, reported, and kept
//     aside as it came. So are lines that do not parse.
//   - Nothing is changed or removed. Triggers in the database refuse it, whoever
//     asks; the hash chain of each journal shows it where somebody got round them.
//   - One program at a time has the folder open for writing. Others may look at the
//     record with [OpenReading] and take a backup meanwhile.
//   - Before a newer version of Buttonup changes the layout of the database, a copy
//     of the old one is made beside it.
//
// The package knows nothing of engines: it looks into an event as far as its id and
// kind, by package journal, and into pack files not at all. It reads the clock and
// draws random numbers only through [Options].
package store

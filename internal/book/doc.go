// Package book makes the sheets that leave the bench: the build book of a job, and
// what teaches or travels without one. It writes PDF, and HTML with the same content.
//
// It is the only door to the PDF library. It concludes nothing: it shows an
// assessment and what the journal says, and takes its sentences from words. It opens
// no file and reads no clock; photos, time and keys are handed in, so that the same
// job and time give the same bytes.
//
// It knows nothing of where a job is kept, and nothing of pages on a screen.
package book

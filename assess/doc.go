// Package assess concludes: what the readings of a job mean against its pack, what
// may be done next, what must not be closed yet, and what is missing.
//
// [Assess] is a pure function of a pack and the state of a journal. [Prepare] does
// the part of it that depends on the pack alone, for callers that assess often. The
// package gives codes and values; the sentences are made in package words. It is the
// one package that may know all others of the core, and it knows nothing of files,
// pages or clocks: the time, where it matters, is an argument.
package assess

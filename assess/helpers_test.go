package assess_test

import "time"

// time0 is when every written job of these tests begins.
var time0 = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

package basket

import "testing"

func BenchmarkSolve(b *testing.B) {
	for _, name := range []string{"shop", "sparse", "large", "impossible"} {
		f := familyNamed(name)
		b.Run(name, func(b *testing.B) {
			problems := make([]*Problem, 10)
			for i := range problems {
				problems[i] = generate(f, uint64(i+1))
			}
			for i := 0; b.Loop(); i++ {
				if _, err := Solve(problems[i%10]); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

package syntax

// Walk calls visit for an expression and everything below it.
func Walk(e Expr, visit func(Expr)) {
	visit(e)
	switch e := e.(type) {
	case *Call:
		for _, a := range e.Arguments {
			Walk(a, visit)
		}
	case *Unary:
		Walk(e.X, visit)
	case *Binary:
		Walk(e.X, visit)
		Walk(e.Y, visit)
	case *Conditional:
		Walk(e.Test, visit)
		Walk(e.Then, visit)
		Walk(e.Else, visit)
	case *List:
		for _, x := range e.Items {
			Walk(x, visit)
		}
	case *Object:
		for _, i := range e.Items {
			Walk(i.Value, visit)
		}
	}
}

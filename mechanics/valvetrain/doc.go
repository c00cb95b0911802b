// Package valvetrain computes what the cam makes the valves do: when they open, how
// close they come to the piston and to each other, what the springs must hold, and how
// much of a hydraulic lifter's travel is used, cold and hot.
//
// It knows geometry, motion and thermal growth. It refuses to know limits: how near is
// too near is for the pack to say, and what the engine maker's manual and the cam
// maker's card say goes before anything computed here.
//
// # Conventions
//
// Angles are angles of the crank; a cam angle counts double. In a gap the angle is that
// on a degree wheel whose zero is the piston's top dead centre at overlap: negative
// before it, positive after it. A lift curve has its own zero, usually its peak, and
// repeats every [Cycle]; where the peak stands on the wheel is given beside it. Lift is
// positive when the valve opens, and a derivative of a lift is per radian of the crank.
//
// # Errors
//
// Every function checks its arguments and returns an [argument.Error] that says which
// one is wrong, what it was and what is allowed. No function returns NaN or an
// infinity.
package valvetrain

#include "base/root.h"

#include <math.h>

double root_between(root_function f, void *user, double a, double fa, double b, double fb, const struct root_limits *limits) {
  int side = 0; // which end moved last: 1 a, -1 b; the other one's value is halved when it moves again
  for (int i = 0; i < limits->iteration_max && fabs(b - a) > limits->x_tolerance; i++) {
    const double c = (a * fb - b * fa) / (fb - fa);
    const double fc = f(c, user);
    if (fabs(fc) < limits->f_tolerance) return c;
    if (fc * fb > 0.0) {
      b = c;
      fb = fc;
      if (side == -1) fa *= 0.5;
      side = -1;
    } else {
      a = c;
      fa = fc;
      if (side == 1) fb *= 0.5;
      side = 1;
    }
  }
  return 0.5 * (a + b);
}

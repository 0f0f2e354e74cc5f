/* Cholesky's method for small symmetric positive definite matrices, as covariances are: A = L L^T.
 *
 * A matrix is n x n doubles, row by row; only its lower triangle is read or written unless said otherwise. A factor
 * is L as matrix_cholesky leaves it. Numbers carry whatever unit the caller gives them. Nothing is allocated.
 * Accuracy: rounding, about n * 2e-16 times the condition number of A.
 * Source: G. H. Golub, C. F. Van Loan, "Matrix Computations", 4th ed. (2013), section 4.2. */
#ifndef BASE_MATRIX_H
#define BASE_MATRIX_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>

/* Replaces the lower triangle of a by L; what stands above the diagonal stays. False if a is not positive definite, or
 * has a number that is not finite; a is then half overwritten. A pivot below n * 2.2e-16 of its diagonal entry, no more
 * than its rounding, counts as zero. */
MUST_CHECK bool matrix_cholesky(size_t n, double *a);

/* Solves A x = b: x holds b on entry. */
void matrix_cholesky_solve(size_t n, const double *factor, double *x);

/* Solves L x = b: x holds b on entry. The squares of x then sum to b^T A^-1 b. */
void matrix_cholesky_forward(size_t n, const double *factor, double *x);

/* Natural logarithm of the determinant of A. */
double matrix_cholesky_log_determinant(size_t n, const double *factor);

/* A^-1, both triangles, exactly symmetric. inverse must not overlap factor. */
void matrix_cholesky_inverse(size_t n, const double *factor, double *inverse);

#endif

"""Forms made from the columns of a sheet."""

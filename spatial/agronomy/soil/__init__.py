"""What the soil asks for: pH, lime, P, K and Mg, from lab tests and soil layers."""

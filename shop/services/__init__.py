"""What users do to the records of the shop, one module for each thing."""

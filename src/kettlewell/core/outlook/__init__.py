"""What is to come: forecast, life, next reading, verdict, wall card."""

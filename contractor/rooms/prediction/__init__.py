"""What is heard in each room before and after the treatments of a scheme."""

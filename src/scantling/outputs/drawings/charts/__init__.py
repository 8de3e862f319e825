"""Charts in the house's own hand: ink on ruled paper, bands hatched, every line named where it runs."""

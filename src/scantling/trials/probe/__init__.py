"""What is tried and how it is judged: shared by the rehearsal and by the tests on site."""

"""What a job costs, what other quantities would cost, and how many discs the stock yields."""

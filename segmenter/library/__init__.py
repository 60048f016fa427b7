"""Many lessons: searched, looked over, put together anew, and built by the hundred."""

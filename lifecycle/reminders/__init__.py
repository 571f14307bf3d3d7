"""From steps to tasks and messages: refresh the work list, announce, deliver."""

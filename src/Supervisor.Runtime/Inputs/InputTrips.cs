using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Inputs;

/// <summary>Trips the interlocks of some inputs the moment one is open for long enough, or silent too long. For the thread that reads the inputs.</summary>
internal sealed class InputTrips
{
    // Until a source was met its inputs are unknown. They count as open, but a process condition is not latched by it.
    private readonly MachineBoard _board;
    private readonly (int Cell, int[] Interlocks)[] _inputs;

    /// <param name="board">What all threads share.</param>
    /// <param name="cells">Cells of the inputs on the board.</param>
    internal InputTrips(MachineBoard board, IEnumerable<int> cells)
    {
        _board = board;
        _inputs = [.. cells.Select(cell => (cell, InterlocksOf(board.Machine, board.Inputs.Inputs[cell]))).Where(input => input.Item2.Length > 0)];
    }

    /// <summary>Looks at all of them.</summary>
    internal void Judge(TimeSpan now)
    {
        foreach (var (cell, interlocks) in _inputs)
        {
            var reading = _board.Inputs.Read(cell);
            foreach (var interlock in interlocks)
            {
                var definition = _board.Machine.Interlocks[interlock];
                var open = reading.Known
                    && ((!reading.Closed && now - reading.ChangedAt >= definition.TripDelay) || reading.IsStale(now, definition.StaleAfter));
                if (open && !_board.Latch.IsStanding(StopCauses.Interlock(interlock)))
                {
                    _board.Latch.Trip(StopCauses.Interlock(interlock));
                }
            }
        }
    }

    private static int[] InterlocksOf(MachineDefinition machine, InputReference input) =>
        [.. Enumerable.Range(0, machine.Interlocks.Count).Where(i => machine.Interlocks[i].Inputs.Any(used => used.Text == input.Text))];
}

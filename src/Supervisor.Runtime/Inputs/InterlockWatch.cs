using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Inputs;

/// <summary>The interlock inputs that one port's drives carry: read with every feedback, tripping the latch the moment one is open or silent.</summary>
internal sealed class InterlockWatch
{
    // Until a drive was met its inputs are unknown. They count as open, but a process condition is not latched by it.
    private readonly MachineBoard _board;
    private readonly Watched[] _inputs;

    internal InterlockWatch(MachineBoard board, IReadOnlyList<Axis> axes)
    {
        _board = board;
        var watched = new List<Watched>();
        for (var cell = 0; cell < board.Inputs.Inputs.Count; cell++)
        {
            var input = board.Inputs.Inputs[cell];
            var axis = axes.FirstOrDefault(candidate => candidate.Index == input.Axis);
            if (input.Source == InputSource.Drive && axis is not null)
            {
                watched.Add(new Watched(cell, axis, axis.Coding.Plan.FeedbackBit(input.Bit), InterlocksOf(board.Machine, input)));
            }
        }

        _inputs = [.. watched];
    }

    /// <summary>An axis's feedback is fresh: publish its inputs and judge them.</summary>
    internal void Look(Axis axis, TimeSpan now)
    {
        foreach (var input in _inputs)
        {
            if (input.Axis == axis)
            {
                _board.Inputs.Write(input.Cell, input.Bit.Get(axis.Registers), now);
            }
        }

        Judge(now);
    }

    /// <summary>Trips what is open long enough, or silent too long.</summary>
    internal void Judge(TimeSpan now)
    {
        foreach (var input in _inputs)
        {
            if (input.Interlocks.Length == 0)
            {
                continue;
            }

            var reading = _board.Inputs.Read(input.Cell);
            foreach (var interlock in input.Interlocks)
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

    private readonly record struct Watched(int Cell, Axis Axis, BitSlot Bit, int[] Interlocks);
}

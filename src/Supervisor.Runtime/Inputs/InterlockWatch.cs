using Supervisor.Configuration.Machines;
using Supervisor.Drives.Exchange;
using Supervisor.Runtime.Axes;

namespace Supervisor.Runtime.Inputs;

/// <summary>The interlock inputs that one port's drives carry: read with every feedback, tripping the latch the moment one is open or silent.</summary>
internal sealed class InterlockWatch
{
    private readonly MachineBoard _board;
    private readonly Watched[] _inputs;
    private readonly InputTrips _trips;

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
                watched.Add(new Watched(cell, axis, axis.Coding.Plan.FeedbackBit(input.Bit)));
            }
        }

        _inputs = [.. watched];
        _trips = new InputTrips(board, watched.Select(input => input.Cell));
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
    internal void Judge(TimeSpan now) => _trips.Judge(now);

    private readonly record struct Watched(int Cell, Axis Axis, BitSlot Bit);
}

using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>Every fault an axis latches or reports comes to the journal exactly once, soon, in order, under its own name.</summary>
public sealed class FaultsKept : Checker
{
    private static readonly TimeSpan Soon = TimeSpan.FromMilliseconds(50);
    private readonly FaultCode[] _latched;
    private readonly Queue<(TimeSpan At, FaultCode Code)>[] _expected;

    public FaultsKept(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _latched = new FaultCode[world.Machine.Axes.Count];
        _expected = [.. world.Machine.Axes.Select(_ => new Queue<(TimeSpan, FaultCode)>())];
    }

    /// <summary>A planted bug: one in so many faults never comes to the journal; 0 for none.</summary>
    public int LosesOneIn { get; set; }

    /// <inheritdoc/>
    public override void OnKill()
    {
        foreach (var queue in _expected)
        {
            queue.Clear();
        }
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        if ((row.Effects & (AxisEffects.Latch | AxisEffects.Report)) != 0)
        {
            var isLatched = (row.Effects & AxisEffects.Latch) != 0;
            var code = World.Supervisor!.Axes[axis].Fault;
            _latched[axis] = isLatched ? code : _latched[axis];
            _expected[axis].Enqueue((Now, isLatched ? code : FaultCode.None));
        }
    }

    /// <inheritdoc/>
    public override void OnFault(in FaultEvent fault)
    {
        if (fault.Axis < 0)
        {
            return;
        }

        Looks++;
        if (LosesOneIn > 0 && Looks % LosesOneIn == 0)
        {
            return;
        }

        if (!_expected[fault.Axis].TryDequeue(out var expected))
        {
            if (FaultCatalogue.MayRecover(_latched[fault.Axis]) && !FaultCatalogue.MayRecover(fault.Code))
            {
                // A graver one takes the place of one that might have been recovered from: once, as nothing is graver still.
                _latched[fault.Axis] = fault.Code;
                return;
            }

            Find(fault.Axis, $"{fault.Code} came to the journal, but was not latched or came before");
        }
        else if (expected.Code != FaultCode.None && expected.Code != fault.Code)
        {
            Find(fault.Axis, $"{fault.Code} came to the journal where {expected.Code} was latched");
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _expected.Length; axis++)
        {
            if (_expected[axis].TryPeek(out var expected) && Now - expected.At > Soon)
            {
                _expected[axis].Dequeue();
                Find(axis, $"{expected.Code} was latched at {expected.At.TotalSeconds:0.0000} s and did not come to the journal");
            }
        }
    }
}

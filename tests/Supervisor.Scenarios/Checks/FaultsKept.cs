using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>Every fault an axis latches or reports, and every warning of its heat, comes to the journal exactly once, soon, in order, under its own name.</summary>
public sealed class FaultsKept : Checker
{
    private static readonly TimeSpan Soon = TimeSpan.FromMilliseconds(50);
    private readonly FaultCode[] _latched;
    private readonly Queue<(TimeSpan At, FaultCode Code)>[] _expected;
    private readonly Queue<(TimeSpan At, FaultCode Code)>[] _warnings;
    private readonly HashSet<short>[] _parameters;
    private readonly bool[] _isHot;

    public FaultsKept(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _latched = new FaultCode[world.Machine.Axes.Count];
        _expected = [.. world.Machine.Axes.Select(_ => new Queue<(TimeSpan, FaultCode)>())];
        _warnings = [.. world.Machine.Axes.Select(_ => new Queue<(TimeSpan, FaultCode)>())];
        _parameters = [.. world.Machine.Axes.Select(_ => new HashSet<short>())];
        _isHot = new bool[_latched.Length];
    }

    /// <summary>A planted bug: one in so many faults never comes to the journal; 0 for none.</summary>
    public int LosesOneIn { get; set; }

    /// <inheritdoc/>
    public override void OnKill()
    {
        foreach (var queue in _expected.Concat(_warnings))
        {
            queue.Clear();
        }

        Array.Clear(_isHot);
        Array.ForEach(_parameters, known => known.Clear());
    }

    /// <inheritdoc/>
    public override void OnTransaction(int port)
    {
        for (var axis = 0; axis < _isHot.Length; axis++)
        {
            if (World.Machine.Axes[axis] is not { Heating: { } heating } definition || definition.Port != port)
            {
                continue;
            }

            // Told once when it is reached, and again only after it was 5 % of the trip value below.
            var heat = World.Snapshot(axis).HeatPercent;
            if (!_isHot[axis] && heat >= heating.WarnAt)
            {
                _isHot[axis] = true;
                _warnings[axis].Enqueue((Now, FaultCode.HeatingWarning));
            }

            _isHot[axis] &= heat >= heating.WarnAt - 5;
        }
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        if (row.On == AxisEvent.Contacted)
        {
            _parameters[axis].Clear();
        }

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

        if (fault.Code is FaultCode.ParameterDiffers or FaultCode.ParameterFoundDifferent && !IsNext(fault))
        {
            // Told beside what is latched: once for each parameter with every meeting of the drive.
            if (!_parameters[fault.Axis].Add(fault.Parameter.Index))
            {
                Find(fault.Axis, $"{fault.Code} of parameter {fault.Parameter.Index} came to the journal twice");
            }

            return;
        }

        var queue = fault.Code == FaultCode.HeatingWarning ? _warnings : _expected;
        if (!queue[fault.Axis].TryDequeue(out var expected))
        {
            if (!FaultCatalogue.MayRecover(fault.Code) && (FaultCatalogue.MayRecover(_latched[fault.Axis])
                || FaultCatalogue.Entry(fault.Code).Priority > FaultCatalogue.Entry(_latched[fault.Axis]).Priority))
            {
                // A graver one takes the place of one that might have been recovered from, or that is less urgent: never twice the same.
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
            LookForLate(axis, _expected[axis]);
            LookForLate(axis, _warnings[axis]);
        }
    }

    private bool IsNext(in FaultEvent fault) => _expected[fault.Axis].TryPeek(out var next) && next.Code == fault.Code;

    private void LookForLate(int axis, Queue<(TimeSpan At, FaultCode Code)> queue)
    {
        if (queue.TryPeek(out var expected) && Now - expected.At > Soon + World.HeldUpFor)
        {
            queue.Dequeue();
            Find(axis, $"{expected.Code} was latched at {expected.At.TotalSeconds:0.0000} s and did not come to the journal");
        }
    }
}

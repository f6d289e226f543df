using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Modules;

namespace Supervisor.Runtime.Ports;

/// <content>Whose turn it is: stops, outputs of modules, the exchanges of a cycle, second exchanges, slow requests.</content>
public sealed partial class PortStepper
{
    private PortStep? NextStop(TimeSpan now)
    {
        Axis? first = null;
        foreach (var axis in _stopOrder)
        {
            if (axis.IsStopUrgent && (first is null || axis.StopTurn < first.StopTurn))
            {
                first = axis;
            }
        }

        return first is null ? null : Send(first, first.AskStop(_transaction, now), now);
    }

    /// <summary>What is ordered of a module's outputs, such as the power-enable's drop, does not wait for the next cycle; how much of it a cycle may hold is bounded.</summary>
    private PortStep? NextModuleOutput(TimeSpan now)
    {
        if (_modules.NextOutput(now) is not { } module)
        {
            return null;
        }

        _modules.AskOutput(module, _transaction);
        if (_master.EarliestStart(_transaction, now) <= now)
        {
            return new PortStep(PortStepKind.Transact, default, _transaction);
        }

        _modules.PutBack();
        return null;
    }

    private PortStep? NextExchange(TimeSpan now)
    {
        if (now >= NextCycleAt)
        {
            BeginCycle(now);
        }

        return Earliest(now, more: false);
    }

    private void BeginCycle(TimeSpan now)
    {
        var due = NextCycleAt;
        var late = now - due;
        if (_cycling)
        {
            // An overrun skips, it does not burst.
            _lateness.Note(late, late.Ticks / _port.Cycle.Ticks, now);
        }

        // The nearest number, so that cycles that were skipped, or passed while the device was away, are missing in the samples.
        _cycleAt = _cycling && late < _port.Cycle ? due : now;
        _cycle += _cycle == 0 ? 1 : (uint)Math.Max(1, Math.Round((_cycleAt - _numberedAt) / _port.Cycle));
        _numberedAt = _cycleAt;
        _cycling = true;

        _more = 0;
        foreach (var axis in _axes)
        {
            axis.BeginCycle(_cycle, now);
        }

        _modules.BeginCycle(now);
    }

    private PortStep? NextMore(TimeSpan now)
    {
        if (_more >= MoreExchangesPerCycle * _axes.Length || now + _times.Percentile(0.5) > NextCycleAt)
        {
            return null;
        }

        foreach (var axis in _axes)
        {
            if (axis.WantsMore)
            {
                axis.BeginMore();
                _more++;
            }
        }

        return Earliest(now, more: true);
    }

    private PortStep? NextSlow(TimeSpan now)
    {
        if (now + _times.Percentile(0.9) > NextCycleAt)
        {
            return null;
        }

        for (var i = 0; i < _axes.Length; i++)
        {
            _slow = (_slow + 1) % _axes.Length;
            var request = _axes[_slow].AskSlow(_transaction, now);
            if (request != AxisRequest.None)
            {
                return Send(_axes[_slow], request, now);
            }
        }

        return null;
    }

    /// <summary>Of the axes and modules whose exchange is due and may be sent now, the one whose turn it is; else the wait until the first one may.</summary>
    private PortStep? Earliest(TimeSpan now, bool more)
    {
        var start = TimeSpan.MaxValue;
        var missingFirst = now - _missingAskedAt > _port.Cycle;
        Axis? next = null;
        foreach (var axis in _axes)
        {
            if (!axis.IsExchangeDue || (next is not null && !GoesBefore(axis, next, missingFirst)))
            {
                continue;
            }

            var at = EarliestExchange(axis, now);
            next = at <= now ? axis : next;
            start = at < start ? at : start;
        }

        var module = more ? null : _modules.NextDue(_master, _transaction, missingFirst, now, ref start);
        if (module is not null && (next is null || ModulePoll.GoesBefore(module.IsMissing, module.AskedAt, next.IsMissing, next.ExchangedAt, missingFirst)))
        {
            _modules.AskDue(module, _transaction, now);
            return new PortStep(PortStepKind.Transact, default, _transaction);
        }

        if (next is not null)
        {
            var request = next.AskExchange(_transaction, now);
            Describe(next, request is AxisRequest.Stop or AxisRequest.StopRamp);
            return Sent(next, request);
        }

        return start == TimeSpan.MaxValue || (start > NextCycleAt && !more) ? null : Wait(start, now);
    }

    private TimeSpan EarliestExchange(Axis axis, TimeSpan now)
    {
        var request = axis.AskExchange(_transaction, now);
        Describe(axis, request is AxisRequest.Stop or AxisRequest.StopRamp);
        return _master.EarliestStart(_transaction, now);
    }

    private static bool GoesBefore(Axis axis, Axis other, bool missingFirst) =>
        ModulePoll.GoesBefore(axis.IsMissing, axis.ExchangedAt, other.IsMissing, other.ExchangedAt, missingFirst);

    private PortStep Send(Axis axis, AxisRequest request, TimeSpan now)
    {
        Describe(axis, request is AxisRequest.Stop or AxisRequest.StopRamp);
        var start = _master.EarliestStart(_transaction, now);
        return start > now ? Wait(start, now) : Sent(axis, request);
    }

    /// <summary>A stop does not wait for an answer that may still come late.</summary>
    private void Describe(Axis axis, bool urgent)
    {
        _transaction.ReplyTimeout = _port.ResponseTimeout + axis.Coding.Plan.Drive.Wire.Turnaround;
        _transaction.Urgent = urgent;
    }

    private PortStep Sent(Axis axis, AxisRequest request)
    {
        _asked = axis;
        _request = request;
        return new PortStep(PortStepKind.Transact, default, _transaction);
    }
}

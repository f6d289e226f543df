using Supervisor.Configuration.Machines;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.Watching;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;

namespace Supervisor.Machine.Alarms;

/// <summary>
/// Sees the conditions of the fault catalogue end, and what they latched being reset. A condition that nobody can see end, as that of a jam, counts as
/// standing until the reset; a warning of which only the beginning is seen has ended when it is told.
/// </summary>
internal sealed class AlarmEnds(AlarmDesk desk, MachineView view, InterlockDesk interlocks, PowerDesk power, AliveOutput alive)
{
    private TimeSpan? _startedAt;

    /// <summary>Only a reset ends it.</summary>
    public static bool IsLatching(FaultCode code) => FaultCatalogue.ClassOf(code) != FaultClass.Warning;

    /// <summary>Something that happened; nothing tells that it stands.</summary>
    public static bool IsMomentary(FaultCode code) =>
        code is FaultCode.ParameterFoundDifferent or FaultCode.StopsLonger or FaultCode.OutputChanged or FaultCode.ModuleRestarted or FaultCode.ModuleRefuses;

    public void Step()
    {
        _startedAt ??= view.Now;
        for (var i = desk.Kept.Count - 1; i >= 0; i--)
        {
            var alarm = desk.Kept[i];
            if (alarm.State.IsActive() || alarm.State.IsLatched())
            {
                Look(alarm);
            }
        }
    }

    private void Look(Alarm alarm)
    {
        if (alarm.Key.IsOwn)
        {
            // Whoever looks at its condition says so at once after a start; that nobody does means that it is gone.
            // What it has latched waits for a person all the same.
            if (alarm.IsRemembered && view.Now - _startedAt > AlarmRules.OwnAfterStart)
            {
                desk.Clear(alarm.Key);
            }

            return;
        }

        switch (alarm.Key.Source.Kind)
        {
            case AlarmSourceKind.Axis:
                LookAtAxis(alarm, alarm.Key.Source.Index);
                break;
            default:
                if (IsOver(alarm))
                {
                    desk.Clear(alarm.Key);
                    desk.Reset(alarm.Key);
                }

                break;
        }
    }

    private void LookAtAxis(Alarm alarm, int axis)
    {
        // Feedback that is no newer than the fault may show the axis as it was before.
        if (!view.IsOnline(axis) || view[axis].At <= alarm.LastAt)
        {
            return;
        }

        alarm.MetAt ??= view.Now;
        if (alarm.IsRemembered && view.Now - alarm.MetAt < AlarmRules.SameAfterStart)
        {
            // A drive that is met tells what it still has a moment later.
            return;
        }

        alarm.IsRemembered = false;
        if (!alarm.IsLatching)
        {
            if (IsWarningOver((FaultCode)alarm.Key.Number, axis))
            {
                desk.Clear(alarm.Key);
            }
        }
        else if (view[axis].State != AxisState.Faulted)
        {
            desk.Clear(alarm.Key);
            desk.Reset(alarm.Key);
        }
        else if (alarm.Key.Number == (int)FaultCode.LinkLost)
        {
            // It answers again, as it is online.
            desk.Clear(alarm.Key);
        }
    }

    private bool IsWarningOver(FaultCode code, int axis)
    {
        var definition = view.Axes[axis];
        return code switch
        {
            FaultCode.HeatingWarning => definition.Heating is not { } heating || view[axis].HeatPercent < heating.WarnAt - Axis.HeatingHysteresis,
            FaultCode.BrakeProofOverdue => BrakeProofStatus.Of(definition.Brake?.Proof, view.Board.Proofs[axis].Read(), view.Now).State != BrakeProofState.Overdue,
            FaultCode.DriveErrorsFrequent => IsBelowHalf(view[axis].ErrorPercent, definition.Port),
            _ => true,
        };
    }

    /// <summary>As the ports leave the warning: below half of the share that it began with.</summary>
    private bool IsBelowHalf(double percent, int port) => percent < view.Board.Machine.Ports[port].ErrorRate.WarningPercent / 2;

    private bool IsOver(Alarm alarm)
    {
        var (kind, index) = alarm.Key.Source;
        return ((FaultCode)alarm.Key.Number, kind) switch
        {
            (FaultCode.LinkLost, AlarmSourceKind.Port) => view.Port(index).Open && view.IsAlive(index),
            (FaultCode.LineErrorsFrequent, _) => IsBelowHalf(view.Port(index).ErrorPercent, index),
            (FaultCode.AdapterHearsItself, _) => !view.Port(index).HearsItself,
            (FaultCode.ModuleLost, _) => IsModuleOnline(index),
            (FaultCode.ModuleErrorsFrequent, _) => IsBelowHalf(view.Board.Modules[index].Read().ErrorPercent, view.Board.Machine.Modules[index].Port),
            (FaultCode.ModuleErrorsTooMany, _) => !view.Board.Modules[index].Read().Distrusted,
            (FaultCode.ModuleTimeoutUnverified, _) => IsModuleOnline(index) && view.Board.Modules[index].Read().OutputsReady,
            (FaultCode.ModuleOutputNotTaken, _) => IsModuleOnline(index) && AreOutputsTaken(index),
            (FaultCode.OutputNotConfirmed, AlarmSourceKind.Output) => IsConfirmed(index),
            (FaultCode.AliveStopped, _) => alive.Problem.Length == 0,
            (FaultCode.ChannelDiscrepancy, AlarmSourceKind.Interlock) => index < 0 || !interlocks.All[index].HasDiscrepancy,
            (_, AlarmSourceKind.Output) => power.State != PowerState.Faulted,
            _ => true,
        };
    }

    private bool IsModuleOnline(int module) =>
        view.Board.Modules[module].Read().Online && view.IsAlive(view.Board.Machine.Modules[module].Port);

    private bool AreOutputsTaken(int module)
    {
        var places = view.Board.Outputs.Places;
        for (var output = 0; output < places.Count; output++)
        {
            if (places[output].Source == OutputSource.Module && places[output].Module!.Module == module && !IsConfirmed(output))
            {
                return false;
            }
        }

        return true;
    }

    private bool IsConfirmed(int output)
    {
        var cell = view.Board.Outputs.Cells[output];
        var reading = cell.Read();
        return reading.Known && reading.Acknowledged == cell.Order.Number;
    }
}

using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Messages;
using Supervisor.History.Writing;
using Model = Supervisor.Machine.Api;
using V1State = Supervisor.Api.V1.AxisState;
using V1Detail = Supervisor.Api.V1.AxisDetail;

namespace Supervisor.Daemon.Services;

/// <summary>Turns the machine's status into the API's messages.</summary>
public static class StatusMapping
{
    /// <summary>The whole machine.</summary>
    /// <param name="status">The status.</param>
    /// <param name="machine">The machine file.</param>
    /// <param name="language">In which of the file's languages its texts are told; empty: the first.</param>
    public static MachineStatus ToMessage(Model.MachineStatus status, MachineDefinition machine, string language = "")
    {
        ArgumentNullException.ThrowIfNull(status);
        ArgumentNullException.ThrowIfNull(machine);
        var message = new MachineStatus { Machine = status.Machine, Mode = status.Mode, MotionPermitted = status.MotionPermitted };
        if (status.AuthorityHolder is { } holder)
        {
            message.AuthorityHolder = holder;
        }

        for (var axis = 0; axis < status.Axes.Count; axis++)
        {
            message.Axes.Add(Axis(status.Axes[axis], machine.Axes[axis]));
        }

        message.Interlocks.AddRange(status.Interlocks.Select(Interlock));
        message.Zones.AddRange(status.Zones.Select(Zone));
        message.Ports.AddRange(status.Ports.Select(Port));
        message.Modules.AddRange(status.Modules.Select(module => new ModuleStatus
        {
            Name = module.Name, Online = module.Online, OutputsReady = module.OutputsReady, WhatToDo = module.WhatToDo,
            ErrorPercent = Math.Round(module.ErrorPercent, 2),
        }));
        message.Outputs.AddRange(status.Outputs.Select(Output));
        if (status.PowerEnable is { } power)
        {
            // The API's number is one more, as 0 means unspecified there.
            message.PowerEnable = new PowerStatus
            {
                State = (PowerState)((int)power.State + 1), Fault = ApiErrors.ReasonOf(power.Fault), Axes = { power.Axes }, WhatToDo = power.WhatToDo,
            };
        }

        message.Lights.AddRange(status.Lights.Select(light => SignalMapping.ToMessage(light, machine, language)));
        message.Horn = status.Horn is { } horn ? SignalMapping.ToMessage(horn) : null;
        if (status.Alive is { } alive)
        {
            message.Alive = new AliveStatus { Place = alive.Place, Toggles = alive.Toggles, Problem = alive.Problem };
        }

        return message;
    }

    private static OutputStatus Output(Model.OutputStatus status)
    {
        var message = new OutputStatus { Name = status.Name, Place = status.Place, Confirmed = status.Confirmed, HeldBecause = status.HeldBecause };
        if (status.On is { } on)
        {
            message.On = on;
        }

        return message;
    }

    /// <summary>How the history fares.</summary>
    public static HistoryStatus ToMessage(HistoryHealth health)
    {
        ArgumentNullException.ThrowIfNull(health);
        return new HistoryStatus
        {
            Good = health.Good, Problem = health.Message, Lost = health.Lost, Collapsed = health.Collapsed, Sparing = health.IsSparing, WrittenBytes = health.BytesWritten,
        };
    }

    /// <summary>How a channel of messages fares. Whole seconds: a status that looks the same is not sent again.</summary>
    public static MessageChannelStatus ToMessage(ChannelStatus channel)
    {
        ArgumentNullException.ThrowIfNull(channel);
        var message = new MessageChannelStatus
        {
            Name = channel.Name, Kind = channel.Kind, Waiting = channel.Waiting, Problem = channel.Problem, Sent = channel.Sent, GivenUp = channel.GivenUp, Held = channel.IsHeld,
        };
        if (channel.OldestFor is { } oldest)
        {
            message.OldestForS = Math.Floor(oldest.TotalSeconds);
        }

        if (channel.FailingFor is { } failing)
        {
            message.FailingForS = Math.Floor(failing.TotalSeconds);
        }

        return message;
    }

    /// <summary>The API's number of a state: one more, as 0 means unspecified there.</summary>
    public static V1State ToMessage(Records.Axes.AxisState state) => state switch
    {
        Records.Axes.AxisState.Disabled => V1State.Disabled,
        Records.Axes.AxisState.Homing => V1State.Homing,
        Records.Axes.AxisState.Ready => V1State.Ready,
        Records.Axes.AxisState.Moving => V1State.Moving,
        Records.Axes.AxisState.Faulted => V1State.Faulted,
        _ => V1State.Unspecified,
    };

    /// <summary>The API's number of a detail.</summary>
    public static V1Detail ToMessage(Records.Axes.AxisDetail detail) => detail switch
    {
        Records.Axes.AxisDetail.Connecting => V1Detail.Connecting,
        Records.Axes.AxisDetail.Energising => V1Detail.Energising,
        Records.Axes.AxisDetail.Stopping => V1Detail.Stopping,
        Records.Axes.AxisDetail.Deenergising => V1Detail.Deenergising,
        Records.Axes.AxisDetail.Inhibited => V1Detail.Inhibited,
        Records.Axes.AxisDetail.NotReferenced => V1Detail.NotReferenced,
        Records.Axes.AxisDetail.Pressing => V1Detail.Pressing,
        Records.Axes.AxisDetail.Stopped => V1Detail.Stopped,
        Records.Axes.AxisDetail.ProvingBrake => V1Detail.ProvingBrake,
        Records.Axes.AxisDetail.ProvingTimeout => V1Detail.ProvingTimeout,
        Records.Axes.AxisDetail.HoldingLoad => V1Detail.HoldingLoad,
        _ => V1Detail.Unspecified,
    };

    /// <summary>The proof of a brake as the API tells it.</summary>
    public static BrakeProof ToMessage(in Machine.Brakes.BrakeProofStatus proof)
    {
        // The API's numbers are the model's.
        var message = new BrakeProof { State = (BrakeProofState)proof.State };
        if (proof.Since is { } since)
        {
            message.PassedHoursAgo = Math.Round(since.TotalHours, 3);
        }

        if (proof.DueIn is { } due)
        {
            message.DueInHours = Math.Round(due.TotalHours, 3);
        }

        if (proof.Movement is { } movement)
        {
            message.Movement = movement;
        }

        return message;
    }

    private static AxisStatus Axis(Model.AxisStatus status, AxisDefinition definition)
    {
        var message = new AxisStatus
        {
            Name = status.Name,
            State = ToMessage(status.State),
            Detail = ToMessage(status.Detail),
            Referenced = status.Referenced,
            Online = status.Online,
            Position = status.Position,
            Velocity = status.Velocity,
            Torque = status.Torque,
            Target = status.Target,
            Unit = status.Unit,
            Fault = ApiErrors.ReasonOf(status.Fault),
            DriveCode = status.DriveCode,
            CommandId = status.CommandId,
            StopLocked = status.StopLocked,
            FaultConsequenceOf = status.FaultConsequenceOf ?? "",
        };
        message.InhibitedBy.AddRange(status.InhibitedBy);
        message.ErrorPercent = Math.Round(status.ErrorPercent, 2);
        if (double.IsFinite(status.HeatPercent))
        {
            message.HeatPercent = Math.Round(status.HeatPercent, 1);
        }

        if (double.IsFinite(status.TorqueRmsPercent))
        {
            message.TorqueRmsPercent = Math.Round(status.TorqueRmsPercent, 1);
        }

        if (status.TorqueLoad.Seconds > 0)
        {
            message.TorqueLoad = new TorqueLoad { SquareSeconds = status.TorqueLoad.SquareSeconds, Seconds = status.TorqueLoad.Seconds };
        }

        if (status.SpeedPercent < 100)
        {
            message.SpeedPercent = status.SpeedPercent;
        }

        if (status.BrakeProof is { State: not Machine.Brakes.BrakeProofState.None } proof)
        {
            message.BrakeProof = ToMessage(proof);
        }

        // Bit i is the i-th input that the drive definition declares.
        var bit = 0;
        foreach (var name in definition.Drive.Inputs.Keys.TakeWhile(_ => bit < 32))
        {
            message.Inputs.Add(new InputStatus { Name = name, Closed = (status.Inputs & (1u << bit)) != 0 });
            bit++;
        }

        return message;
    }

    private static InterlockStatus Interlock(Model.InterlockStatus status)
    {
        var message = new InterlockStatus { Name = status.Name, Open = status.Open, NeedsReset = status.NeedsReset, WhatToDo = status.WhatToDo };
        message.OpenInputs.AddRange(status.OpenInputs);
        return message;
    }

    private static ZoneStatus Zone(Model.ZoneStatus status)
    {
        var message = new ZoneStatus { Name = status.Name, Clear = status.Clear, WhatToDo = status.WhatToDo };
        message.HeldBy.AddRange(status.HeldBy);
        return message;
    }

    private static PortStatus Port(Model.PortStatus status) => new()
    {
        Name = status.Name,
        Open = status.Open,
        CycleMs = status.CycleMs,
        Exchanges = status.Exchanges,
        Errors = status.Errors,
        ExchangeP50Ms = status.ExchangeP50Ms,
        ExchangeP99Ms = status.ExchangeP99Ms,
        HeartbeatAgeMs = status.HeartbeatAgeMs,
        Overruns = Overruns(status.Overruns),
        OverrunsLastMinute = Overruns(status.OverrunsLastMinute),
        OverrunsLastHour = Overruns(status.OverrunsLastHour),
        Problem = status.Problem,
        ErrorPercent = Math.Round(status.ErrorPercent, 2),
        LastMinute = Counts(status.LastMinute),
        LastHour = Counts(status.LastHour),
    };

    private static ExchangeCounts Counts(Model.ExchangeCounts counts) => new() { Exchanges = counts.Exchanges, Errors = counts.Errors };

    private static CycleOverruns Overruns(Model.CycleOverruns overruns) => new() { Skipped = overruns.Skipped, WorstLateMs = overruns.WorstLateMs };
}

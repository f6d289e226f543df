using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Members of a machine file.</summary>
internal static class MachineShapes
{
    public static readonly ObjectShape File = new("machineFile", "$schema", "machine", "ports", "axes", "modules", "interlocks", "zones", "authority", "outputs", "powerEnable", "alive", "history", "languages", "counters", "alarms", "signals", "outOfService", "messages");

    public static readonly ObjectShape Machine = new("machine", "name");

    public static readonly ObjectShape Authority = new("authority", "refreshWithinMs", "onLapse");

    public static readonly ObjectShape History = new("history", "incidentWindowMs", "recordings", "writtenMBPerDay", "recordsPerKind");

    public static readonly ObjectShape OutOfService = new("outOfService", "longestMinutes");

    public static readonly ObjectShape Recordings = new("recordings", "secondsBefore", "secondsAfter", "longestSeconds", "keepMB");

    public static readonly ObjectShape Port = new(
        "port", "name", "device", "baud", "parity", "stopBits", "cycleMs", "gap", "responseTimeoutMs", "retries", "rs485", "errorRate");

    public static readonly ObjectShape Rs485 = new("rs485", "send", "delayBeforeMs", "delayAfterMs");

    public static readonly ObjectShape ErrorRate = new("errorRate", "exchanges", "warningPercent", "faultPercent");

    public static readonly ObjectShape Gap = new("gap", "us");

    public static readonly ObjectShape Axis = new(
        "axis",
        "name", "port", "address", "definition", "unit", "countsPerUnit", "inverted", "endless", "limits", "inPosition", "followingError", "torque",
        "homing", "reference", "gravityLoaded", "gravityTorque", "brake", "contact", "group", "communicationTimeoutMs", "recovery", "heating", "enablingInput", "jog", "parameters", "stop",
        "stopBudgetMs");

    public static readonly ObjectShape Jog = new("jog", "velocity");

    public static readonly ObjectShape Parameter = new("parameter", "value", "unit", "onDifference");

    public static readonly ObjectShape Stop = new("stop", "velocity", "timeMs", "distance", "warnAbove");

    public static readonly ObjectShape Endless = new("endless", "period");

    public static readonly ObjectShape Limits = new("limits", "position", "velocity", "acceleration", "deceleration", "jerk");

    public static readonly ObjectShape InPosition = new("inPosition", "window", "dwellMs");

    public static readonly ObjectShape FollowingError = new("followingError", "limit", "forMs");

    public static readonly ObjectShape Torque = new("torque", "homing", "moving", "holding", "contact", "stopping");

    public static readonly ObjectShape Homing = new(
        "homing", "method", "fast", "slow", "offset", "timeoutMs", "order", "distanceLimit", "clearOf", "hardStop");

    public static readonly ObjectShape ClearOf = new("clearOf", "axis", "between", "input");

    public static readonly ObjectShape HardStop = new("hardStop", "direction", "torque", "forMs", "backOff");

    public static readonly ObjectShape Contact = new("contact", "earlyBefore", "early", "missing");

    public static readonly ObjectShape Brake = new("brake", "releaseMs", "closeMs", "proof");

    public static readonly ObjectShape BrakeProof = new(
        "brakeProof", "torque", "forMs", "movement", "reach", "direction", "everyHours", "graceHours", "whenOverdue");

    public static readonly ObjectShape Recovery = new("recovery", "faults", "attempts", "withinMs", "then", "backOff", "speedPercent");

    public static readonly ObjectShape BackOff = new("backOff", "initialMs", "factor", "longestMs");

    public static readonly ObjectShape Heating = new("heating", "timeConstantS", "continuousTorque", "warnAt");

    public static readonly ObjectShape Module = new(
        "module", "name", "port", "address", "inputs", "outputs", "communicationTimeout", "pollMs", "staleMs", "turnaroundMs", IdentificationReader.Member);

    public static readonly ObjectShape ModuleInputs = new(
        "moduleInputs", "function", "start", "bits", "bitsPerRegister", "bitOrder", "byteOrder", "wordOrder", "names");

    public static readonly ObjectShape ModuleOutputs = new(
        "moduleOutputs", "function", "start", "bits", "bitsPerRegister", "bitOrder", "byteOrder", "wordOrder", "names", "readBack");

    public static readonly ObjectShape ModuleReadBack = new("moduleReadBack", "function", "start");

    public static readonly ObjectShape ModuleTimeout = new(
        "moduleTimeout", "settings", "register", "unitMs", "timeoutMs", "start", "reaction", "fedBy", "function");

    public static readonly ObjectShape ModuleSetting = new("moduleSetting", "register", "value", "readBack");

    public static readonly ObjectShape Interlock = new(
        "interlock", "name", "kind", "inputs", "discrepancyMs", "stopCategory", "axes", "resetInput", "tripDelayMs", "staleMs", "offDelayMs");

    public static readonly ObjectShape Output = new("output", "name", "output", "activeLow", "axes", "atStart", "atStop", "atDisable", "atFault", "atLoss");

    public static readonly ObjectShape PowerEnable = new("powerEnable", "output", "activeLow", "feedback", "onWithinMs", "offWithinMs", "axes");

    public static readonly ObjectShape Alive = new("alive", "output", "activeLow", "periodMs");

    public static readonly ObjectShape Zone = new(
        "zone", "name", "axis", "between", "movesOnlyWhile", "pair", "distance", "offset", "inverted", "scale");

    public static readonly ObjectShape AxisRange = new("axisRange", "axis", "between");

    public static readonly IReadOnlyList<ObjectShape> All =
        [File, Machine, Authority, History, OutOfService, Recordings, .. Messages.MessageShapes.All, Port, Gap, Rs485, ErrorRate, Axis, Jog, Stop, Parameter, Endless, Limits, InPosition, FollowingError, Torque, Homing, ClearOf, HardStop, Contact, Brake, BrakeProof, Recovery, BackOff, Heating, Module, ModuleInputs, ModuleOutputs, ModuleReadBack, ModuleTimeout, ModuleSetting, IdentificationReader.Shape, Interlock, Output, PowerEnable, Alive, Zone, AxisRange, .. Alarms.AlarmShapes.All, .. Signals.SignalShapes.All];
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Members of a drive definition.</summary>
internal static class DriveShapes
{
    public static readonly ObjectShape File = new(
        "driveFile",
        "$schema", "name", "protocol", "wire", "states", "commands", "feedback", "command", "parameters", "inputs", "outputs",
        "communicationTimeout", "refreshMs", "faults", "batteryAlarm", "saveParameters", "holdBrake", "acknowledges", "unlock", "rampTimes", "firstStop", "shortestStartMs", IdentificationReader.Member);

    public static readonly ObjectShape Wire = new(
        "wire", "read", "write", "readWrite", "wordOrder", "byteOrder", "firstRegister", "firstInputRegister", "turnaroundMs", "busyExceptions", "broadcastStop");

    public static readonly ObjectShape Read = new("read", "function", "maxRegisters");

    public static readonly ObjectShape Write = new("write", "function", "maxRegisters", "split");

    public static readonly ObjectShape ReadWrite = new("readWrite", "function");

    public static readonly ObjectShape States = new("states", "powered", "inPosition", "referenced", "fault", "moving");

    public static readonly ObjectShape Commands = new("commands", "power", "go", "stop", "findReference", "clearFault");

    public static readonly ObjectShape Unlock = new("unlock", "writes", "unlocked", "stopWhileLocked");

    public static readonly ObjectShape UnlockWrite = new("unlockWrite", "register", "type", "value");

    public static readonly ObjectShape Acknowledges = new("acknowledges", "go", "findReference", "clearFault");

    public static readonly ObjectShape Field = new("field", "name", "register", "type", "scale", "unit", "access", "readBack", "stored", "kind", "mask", "sentinels");

    public static readonly ObjectShape CommunicationTimeout = new("communicationTimeout", "fedBy", "reaction", "outputs");

    public static readonly ObjectShape Fault = new("fault", "code", "fault", "text", "clear");

    public static readonly ObjectShape FaultClear = new("faultClear", "field", "value");

    public static readonly ObjectShape SaveParameters = new("saveParameters", "register", "type", "value", "busyMs");

    public static readonly ObjectShape RampTimes = new("rampTimes", "toSpeed");

    public static readonly IReadOnlyList<ObjectShape> All =
        [File, Wire, Read, Write, ReadWrite, States, Commands, Acknowledges, Unlock, UnlockWrite, Field, CommunicationTimeout, Fault, FaultClear, SaveParameters, RampTimes, IdentificationReader.Shape];
}

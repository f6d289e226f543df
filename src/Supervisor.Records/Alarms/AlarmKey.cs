namespace Supervisor.Records.Alarms;

/// <summary>What makes an alarm one and the same: its number and what it is about.</summary>
/// <param name="Number">1 to 999: of the fault catalogue; <see cref="FirstOwn"/> to 9999: of the machine file.</param>
/// <param name="Source">What it is about.</param>
public readonly record struct AlarmKey(int Number, AlarmSource Source)
{
    /// <summary>The first number that the machine file may give.</summary>
    public const int FirstOwn = 1_000;

    /// <summary>The last number that the machine file may give.</summary>
    public const int LastOwn = 9_999;

    /// <summary>True for an alarm of the machine file, false for one of the fault catalogue.</summary>
    public bool IsOwn => Number >= FirstOwn;
}

/// <summary>What an alarm is about.</summary>
/// <param name="Kind">Of what kind.</param>
/// <param name="Index">Its index in the machine file, of an output that among all outputs of the machine; -1 for the machine.</param>
public readonly record struct AlarmSource(AlarmSourceKind Kind, short Index)
{
    /// <summary>The machine as a whole.</summary>
    public static AlarmSource Machine { get; } = new(AlarmSourceKind.Machine, -1);

    /// <summary>An axis.</summary>
    public static AlarmSource Axis(int index) => new(AlarmSourceKind.Axis, (short)index);

    /// <summary>A port.</summary>
    public static AlarmSource Port(int index) => new(AlarmSourceKind.Port, (short)index);

    /// <summary>A module of inputs and outputs.</summary>
    public static AlarmSource Module(int index) => new(AlarmSourceKind.Module, (short)index);

    /// <summary>An output.</summary>
    public static AlarmSource Output(int index) => new(AlarmSourceKind.Output, (short)index);

    /// <summary>An interlock.</summary>
    public static AlarmSource Interlock(int index) => new(AlarmSourceKind.Interlock, (short)index);
}

/// <summary>Of what kind the source of an alarm is.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum AlarmSourceKind : byte
{
    Machine = 0,
    Axis = 1,
    Port = 2,
    Module = 3,
    Output = 4,
    Interlock = 5,
}

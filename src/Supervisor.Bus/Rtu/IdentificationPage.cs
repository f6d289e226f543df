namespace Supervisor.Bus.Rtu;

/// <summary>The objects of one reply, one by one.</summary>
/// <param name="frame">A whole reply with its CRC.</param>
public ref struct IdentificationPage(ReadOnlySpan<byte> frame)
{
    private readonly ReadOnlySpan<byte> _frame = frame;
    private int _left = frame[DeviceIdentification.CountAt];
    private int _at;
    private int _end = DeviceIdentification.FirstObject;

    /// <summary>Level that the device says it conforms to.</summary>
    public readonly byte Conformity => _frame[DeviceIdentification.ConformityAt];

    /// <summary>The object to go on with; null when all were told.</summary>
    public readonly byte? Next => _frame[DeviceIdentification.MoreAt] == DeviceIdentification.MoreFollows ? _frame[DeviceIdentification.NextAt] : null;

    /// <summary>Number of the object.</summary>
    public readonly byte Object => _frame[_at];

    /// <summary>Its bytes as they came.</summary>
    public readonly ReadOnlySpan<byte> Bytes => _frame.Slice(_at + 2, _frame[_at + 1]);

    /// <summary>Goes to the next object; false behind the last.</summary>
    public bool MoveNext()
    {
        if (_left == 0)
        {
            return false;
        }

        _left--;
        _at = _end;
        _end = _at + 2 + _frame[_at + 1];
        return true;
    }
}

namespace Supervisor.Bus.Gpio;

/// <summary>The system calls that GPIO needs: the kernel's, or a stand-in that speaks the same bytes. Descriptors and results are the kernel's; a failure is its error number, negative.</summary>
public interface IGpioKernel
{
    /// <summary>Device nodes of the GPIO chips there are now.</summary>
    IReadOnlyList<string> Devices();

    /// <summary>Opens a chip; a descriptor, or an error.</summary>
    int Open(string device);

    /// <summary>A request with its argument in and out; 0, or an error.</summary>
    int Control(int descriptor, uint request, Span<byte> argument);

    /// <summary>Reads what a line has queued. Call it only after <see cref="Wait"/> told it readable: it blocks else. Bytes, or an error.</summary>
    int Read(int descriptor, Span<byte> into);

    /// <summary>Waits until a descriptor is readable or broken, at most for <paramref name="timeout"/>.</summary>
    /// <param name="descriptors">What to wait for; a negative one is left out.</param>
    /// <param name="states">Filled in, one for each.</param>
    /// <param name="timeout">Zero: only look.</param>
    void Wait(ReadOnlySpan<int> descriptors, Span<GpioReadiness> states, TimeSpan timeout);

    /// <summary>Closes a chip or gives a line back: an output may then fall back to whatever its chip does with a line nobody holds.</summary>
    void Close(int descriptor);
}

/// <summary>State of a descriptor.</summary>
public enum GpioReadiness : byte
{
    /// <summary>Nothing is queued.</summary>
    Quiet = 0,

    /// <summary>At least one event is queued.</summary>
    Readable = 1,

    /// <summary>The chip is gone.</summary>
    Broken = 2,
}

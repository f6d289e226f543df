namespace Supervisor.Bus.Gpio;

/// <summary>Error numbers in words.</summary>
/// <remarks>Numbers of the kernel's generic headers, here because a stand-in for the kernel runs anywhere.</remarks>
internal static class GpioErrors
{
    private const int NotPermitted = 1;
    private const int NoEntry = 2;
    private const int NoAddress = 6;
    private const int NoAccess = 13;
    private const int Busy = 16;
    private const int NoDevice = 19;
    private const int Invalid = 22;
    private const int NoSuchRequest = 25;

    public static string Of(int error) => -error switch
    {
        NoAccess or NotPermitted => "permission denied: put the user into the group of the device, often gpio",
        Busy => "in use by another program or the kernel",
        NoDevice or NoAddress => "the chip is gone",
        Invalid => "the chip can't do this: direction, bias or edges are not supported, or its kernel is older than 5.10",
        NoSuchRequest => "it is no GPIO chip, or its kernel is older than 5.10",
        NoEntry => "it is not there",
        _ => $"error {-error}",
    };
}

namespace Supervisor.Bus.Links;

/// <summary>Direction of a two-wire line switched by the port's driver with RTS (kernel documentation, driver-api/serial/serial-rs485).</summary>
/// <param name="SendsOnHighRts">RTS is logically high while sending and low after; false: the other way round.</param>
/// <param name="DelayBefore">Time from RTS to the first byte, whole milliseconds.</param>
/// <param name="DelayAfter">Time from the last byte to RTS, whole milliseconds: the beginning of a faster answer is lost.</param>
public sealed record Rs485Settings(bool SendsOnHighRts, TimeSpan DelayBefore, TimeSpan DelayAfter);
